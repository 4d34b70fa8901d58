//! Words around printed labels.

use bloomdue_core::handover::labels::{Paper, Refusal, Sheet};

use crate::common::plural;
use crate::formats::decimal;

labels! {
    title = "Labels";
    sheet_label = "Sheet";
    which_label = "Bulbs";
    all = "all";
    entered_today = "entered today";
    group_label = "Groups on them";
    group_hidden = "hidden, so that looks stay fair";
    group_shown = "shown";
    lines_label = "Lines to cut along";
    without = "without";
    with = "with";
    used_label = "Labels of the first sheet already used";
    columns_label = "Side by side";
    rows_label = "Below one another";
    width_label = "Width, mm";
    height_label = "Height, mm";
    gap_label = "Between two, mm";
    other_sheet = "another size";
    one_each = "a page for each, for a roll";
    print = "Print";
    at_true_size = "Print at 100 %, without margins. Then measure the ruler: 100 mm.";
    measure_one = "Print at 100 %, without margins. Then measure one label.";
    ruler = "100 mm";
    true_size = "One label, at its true size";
    no_code = "This label is too small for a code that cameras read. The tag is on it.";
    untagged = "Bulbs without a tag get no code.";
    link = "Labels to print";
    link_one = "Its label to print";
    scan = "Scan a label";
    scan_under = "Hold the label before the camera.";
    scan_waiting = "Looking for a code …";
    scan_no_camera = "There is no camera to use here. Type the tag instead.";
    scan_denied = "The camera is not allowed here. Allow it in the browser, or type the tag.";
    scan_none = "No bulb here has this tag.";
    scan_next = "Scan the next";
    walk_from_here = "Walk on from here";
    open_bulb = "Open the bulb";
    light_on = "Light on";
    light_off = "Light off";
    type_instead = "Type it instead";
}

/// How many labels, on how much paper.
pub fn how_many(n: usize, n_pages: usize, paper: Paper) -> String {
    let labels = plural(n, "label", "labels");
    match paper {
        Paper::A4 => format!("{labels}, {} of A4", plural(n_pages, "sheet", "sheets")),
        Paper::Letter => format!("{labels}, {} of Letter paper", plural(n_pages, "sheet", "sheets")),
        Paper::One => format!("{labels}, each on its own page"),
    }
}

fn mm(tenths: u32) -> String {
    decimal(f64::from(tenths) / 10.0, usize::from(!tenths.is_multiple_of(10)))
}

/// A sheet by what is on it: `3 × 7 on A4, 63.5 × 38.1 mm`.
pub fn sheet(sheet: &Sheet) -> String {
    let paper = match sheet.paper {
        Paper::A4 => "A4",
        Paper::Letter => "Letter",
        Paper::One => return one_each().to_owned(),
    };
    let (width, height) = (mm(sheet.width_dmm), mm(sheet.height_dmm));
    format!("{} × {} on {paper}, {width} × {height} mm", sheet.columns, sheet.rows)
}

/// What stands at the head of a printed sheet.
pub fn head(nursery: &str, of: &str, day: &str) -> String {
    [nursery, of, day].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" · ")
}

/// For who cannot see the sheet.
pub fn page_said(n: usize, page: usize, n_pages: usize) -> String {
    format!("Sheet {page} of {n_pages}: {}", plural(n, "label", "labels"))
}

/// After bulbs were entered: what to do with their tags.
pub fn to_label(n_today: usize) -> String {
    match n_today {
        1 => "Write the tag of today's bulb on its label, or print it.".to_owned(),
        n => format!("Write the tags of today's {n} bulbs on labels, or print them."),
    }
}

/// Why labels cannot be printed so, and what to do.
pub fn refusal(why: Refusal) -> &'static str {
    match why {
        Refusal::NoSuchLabel => "A label is from 15 × 8 mm to 300 mm. Mend its width or height.",
        Refusal::TooWide => "So many do not fit side by side. Take fewer, or narrower ones.",
        Refusal::TooHigh => "So many do not fit below one another. Take fewer, or lower ones.",
        Refusal::Nothing => "There is no bulb here to print a label for.",
        Refusal::NoneLeft => "No label is left on a sheet used so far. Say fewer are used.",
    }
}

/// What is wrong with a number of a sheet's size.
pub fn no_size() -> &'static str {
    "Type a length in mm, such as 63.5."
}

#[cfg(test)]
mod tests {
    use super::*;
    use bloomdue_core::handover::labels::SHEETS;

    #[test]
    fn a_sheet_is_named_by_its_own_measures() {
        assert_eq!(sheet(&SHEETS[0]), "3 × 7 on A4, 63.5 × 38.1 mm");
        assert_eq!(sheet(&Sheet { width_dmm: 700, height_dmm: 370, ..SHEETS[0] }), "3 × 7 on A4, 70 × 37 mm");
        assert_eq!(how_many(12, 1, Paper::A4), "12 labels, 1 sheet of A4");
        assert_eq!(how_many(1, 1, Paper::One), "1 label, each on its own page");
        assert_eq!(head("Vale", "", "3 May"), "Vale · 3 May");
    }
}
