//! `cargo xtask icons`: the PNG icons, drawn by Chromium from the one SVG.

use crate::args::Args;
use crate::system::root;
use anyhow::{Context, Result};
use bloomdue_tests::driver::{Browser, Screen};

/// File, edge in pixels, and the part of the edge that the drawing takes in percent:
/// a mask may cut everything outside the inner four fifths.
const ICONS: &[(&str, u32, u32)] = &[
    ("icon-192.png", 192, 100),
    ("icon-512.png", 512, 100),
    ("icon-maskable-512.png", 512, 76),
    ("icon-apple-180.png", 180, 90),
];

/// `cargo xtask icons`.
///
/// # Errors
///
/// When Chromium is missing or a file cannot be written.
pub(crate) fn run(args: Args) -> Result<()> {
    args.end()?;
    let folder = root().join("web/static/icons");
    let svg = std::fs::read_to_string(folder.join("icon.svg")).context("icons/icon.svg")?;
    for (name, edge, percent) in ICONS {
        let profile = bloomdue_tests::driver::Scratch::new("icons")?;
        let screen = Screen::plain(*edge, *edge);
        let mut browser = Browser::launch(profile.path(), screen)?;
        let page = format!(
            "<!doctype html><style>html{{background:#fbf7ec}}body{{margin:0;display:grid;\
             place-items:center;height:100vh}}svg{{width:{percent}%;height:{percent}%}}</style>{svg}"
        );
        browser.show_html(&page)?;
        browser.screenshot(&folder.join(name))?;
        println!("{name}");
    }
    Ok(())
}
