//! Prints a page with every drawing, on light and on dark paper: `cargo run -p bloomdue-core --example sketches`.

use bloomdue_core::{
    call::Choice,
    ledger::body::Check,
    sketch::{LeafShow, Pen, Pose, Rise, ShootShow, Sign, Sketch, answer, bulb_side, inspect, neck, sign},
};

const STYLE: &str = "body{margin:0;font:12px system-ui}section{background:var(--paper);color:var(--ink);\
--paper:#fbf7ec;--paper-2:#f3ecd9;--ink:#1d221f;--ink-2:#4b5149;--leaf:#25532f;--scape:#96202a;padding:8px;\
display:flex;flex-wrap:wrap;gap:8px}.dark{--paper:#14110c;--paper-2:#1e1a12;--ink:#f0c9a0;--ink-2:#c99f78;\
--leaf:#9dbf8a;--scape:#ef8a72}figure{margin:0;text-align:center}";

fn class(pen: Pen) -> &'static str {
    match pen {
        Pen::Line => "ln",
        Pen::Body => "ln fl",
        Pen::Faint => "ln fa",
        Pen::Leaf => "ln lf fl",
        Pen::LeafFold => "ln lf",
        Pen::Scape => "ln sc fl",
        Pen::ScapeFold => "ln sc",
        Pen::Unsure => "ln un",
        Pen::Dot => "dt",
    }
}

fn figure(sketch: &Sketch, width_px: i32, name: &str) {
    let [_, _, width, height] = sketch.view_box;
    let height_px = width_px * height / width;
    print!("<figure><svg width={width_px} height={height_px} viewBox='{}'>", sketch.view_box_text());
    for stroke in &sketch.strokes {
        print!("<path class='{}' d='{}'/>", class(stroke.pen), stroke.d);
    }
    println!("</svg><figcaption>{name}</figcaption></figure>");
}

fn sheet(dark: &str) {
    println!("<section class='{dark}'>");
    for leaves in LeafShow::ALL {
        for shoot in ShootShow::ALL {
            let pose = Pose { leaves: *leaves, shoot: *shoot, resting: false };
            figure(&bulb_side(pose), 84, &format!("{leaves:?} {shoot:?}"));
        }
    }
    figure(&bulb_side(Pose { resting: true, ..Pose::default() }), 84, "resting");
    for choice in Choice::ALL {
        figure(&answer(*choice), 96, choice.key());
    }
    for check in Check::ALL {
        for finding in check.choices() {
            let name =
                finding.map_or_else(|| format!("{}: nothing", check.word()), |finding| finding.word().to_owned());
            figure(&inspect::told((*check, *finding)), 96, &name);
        }
    }
    figure(&neck(Rise::None), 96, "neck");
    for one in Sign::ALL {
        figure(&sign(*one), 26, &format!("{one:?}"));
    }
    println!("</section>");
}

fn main() {
    let base = include_str!("../../web/static/style/base.css");
    let pens = base.split("/* Drawings").nth(1).unwrap_or("").split("/* Else").next().unwrap_or("");
    let drawings = include_str!("../../web/static/style/drawings.css");
    println!("<!doctype html><meta charset=utf-8><title>Drawings</title><style>{STYLE}/*{pens}{drawings}</style>");
    sheet("");
    sheet("dark");
}
