//! Labels on paper: where each stands on its sheet, what is on it, and its code for cameras.
//!
//! The code is a QR code (ISO/IEC 18004) of the tag alone, in alphanumeric mode and at the highest error correction:
//! version 1, 21 modules a side, which a dirty label survives best and any reader shows as what could be typed too.
//! Nothing of the treatment is in it.

use qrcodegen::{QrCode, QrCodeEcc};
use serde::{Deserialize, Serialize};

use crate::{
    calendar::Date,
    ledger::id::{Id, Noun},
    nursery::{Bulb, State},
    tag::Tag,
    trial::placed::by_place,
};

/// Modules of quiet zone at each side of a code (ISO/IEC 18004).
pub const QUIET_MODULES: u32 = 4;

/// The smallest module that is printed, in hundredths of a millimetre: three dots of a printer of 200 dots an inch.
const LEAST_MODULE_CMM: u32 = 38;

/// Room at each edge of a label that nothing is printed in, in tenths of a millimetre.
const EDGE_DMM: u32 = 10;

/// What labels are printed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    A4,
    /// 8.5 × 11 inches (ANSI A).
    Letter,
    /// A page for each label, as printers with a roll have it.
    One,
}

/// How labels lie on a sheet; lengths in tenths of a millimetre.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sheet {
    /// What they are printed on.
    pub paper: Paper,
    /// Labels side by side.
    pub columns: u32,
    /// Labels below one another.
    pub rows: u32,
    /// Width of a label.
    pub width_dmm: u32,
    /// Height of a label.
    pub height_dmm: u32,
    /// Between two labels side by side.
    pub gap_dmm: u32,
}

const fn sheet(paper: Paper, columns: u32, rows: u32, width_dmm: u32, height_dmm: u32, gap_dmm: u32) -> Sheet {
    Sheet { paper, columns, rows, width_dmm, height_dmm, gap_dmm }
}

/// Sheets that shops sell in many makes (common practice, no source).
pub const SHEETS: [Sheet; 6] = [
    sheet(Paper::A4, 3, 7, 635, 381, 25),
    sheet(Paper::A4, 3, 8, 635, 339, 25),
    sheet(Paper::A4, 4, 11, 485, 254, 0),
    sheet(Paper::A4, 5, 13, 381, 212, 25),
    sheet(Paper::A4, 2, 7, 991, 381, 25),
    sheet(Paper::Letter, 3, 10, 667, 254, 32),
];

/// Why labels cannot be printed so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// A label is smaller than 15 × 8 mm, or larger than the paper or 300 mm.
    NoSuchLabel,
    /// So many do not fit beside one another.
    TooWide,
    /// So many do not fit below one another.
    TooHigh,
    /// There is no bulb to print for.
    Nothing,
    /// More are already used than a sheet has.
    NoneLeft,
}

impl Paper {
    /// Width and height in tenths of a millimetre; none where the page is the label's.
    pub const fn size_dmm(self) -> Option<(u32, u32)> {
        match self {
            Self::A4 => Some((2100, 2970)),
            Self::Letter => Some((2159, 2794)),
            Self::One => None,
        }
    }
}

/// Where a label's corner at the left and top is, in tenths of a millimetre.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct At {
    /// From the paper's left edge.
    pub left_dmm: u32,
    /// From the paper's upper edge.
    pub top_dmm: u32,
}

impl Sheet {
    /// Whether labels lie so on this paper.
    ///
    /// # Errors
    /// Why they do not.
    pub fn check(&self) -> Result<(), Refusal> {
        let sides = 150..=3000;
        if !sides.contains(&self.width_dmm) || !(80..=3000).contains(&self.height_dmm) {
            return Err(Refusal::NoSuchLabel);
        }
        let Some((width, height)) = self.paper.size_dmm() else { return Ok(()) };
        if self.columns == 0 || self.wide() > width {
            return Err(Refusal::TooWide);
        }
        if self.rows == 0 || self.rows.saturating_mul(self.height_dmm) > height {
            return Err(Refusal::TooHigh);
        }
        Ok(())
    }

    fn wide(&self) -> u32 {
        let gaps = self.columns.saturating_sub(1).saturating_mul(self.gap_dmm);
        self.columns.saturating_mul(self.width_dmm).saturating_add(gaps)
    }

    /// Labels on one page.
    pub const fn n_on_page(&self) -> u32 {
        match self.paper {
            Paper::One => 1,
            _ => self.columns * self.rows,
        }
    }

    /// Where the `nth` label of a page lies, row by row; the whole lies in the middle of the paper, as sheets are cut.
    pub fn at(&self, nth: u32) -> At {
        let Some((width, height)) = self.paper.size_dmm() else { return At { left_dmm: 0, top_dmm: 0 } };
        let (column, row) = (nth % self.columns.max(1), nth / self.columns.max(1));
        let left = width.saturating_sub(self.wide()) / 2;
        let top = height.saturating_sub(self.rows * self.height_dmm) / 2;
        At { left_dmm: left + column * (self.width_dmm + self.gap_dmm), top_dmm: top + row * self.height_dmm }
    }

    /// The side of the code on a label, quiet zone included, in tenths of a millimetre; none where the label is too
    /// small for one that can be read. It leaves more than half of the width to what is written.
    pub fn code_dmm(&self) -> Option<u32> {
        let side = self.height_dmm.saturating_sub(2 * EDGE_DMM).min(self.width_dmm * 45 / 100).min(300);
        let modules = 21 + 2 * QUIET_MODULES;
        (side * 10 / modules >= LEAST_MODULE_CMM).then_some(side)
    }
}

/// Room below the labels that the ruler needs, in tenths of a millimetre, and how far below them it is drawn.
const RULER_ROOM_DMM: u32 = 80;
const BELOW_DMM: u32 = 25;

/// The ruler by which a print is checked, in tenths of a millimetre: 100 mm.
pub const RULER_DMM: u32 = 1000;

/// The smallest letters, in tenths of a millimetre; longer text is cut.
const LEAST_LETTER_DMM: u32 = 17;
/// The largest letters of the name.
const MOST_NAME_DMM: u32 = 90;
/// The largest letters of all else.
const MOST_LETTER_DMM: u32 = 32;

/// Width of a letter as a share of its size, in hundredths, rather too wide: that of bold letters without serifs.
const fn letter_width(letter: char) -> u32 {
    match letter {
        'W' | 'M' | 'w' | 'm' | '…' => 110,
        'A'..='Z' | '0'..='9' => 80,
        ' ' | '.' | ',' | 'i' | 'l' | '-' => 40,
        _ => 70,
    }
}

/// Width of a text in letters of a size.
fn text_width_dmm(text: &str, size_dmm: u32) -> u32 {
    text.chars().map(letter_width).sum::<u32>() * size_dmm / 100
}

/// A line of writing on a label.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// What it says.
    pub text: String,
    /// Where it begins.
    pub left_dmm: u32,
    /// Where the letters stand, from the label's upper edge.
    pub baseline_dmm: u32,
    /// Size of the letters.
    pub size_dmm: u32,
}

/// What stands where on a label, from its own corner, in tenths of a millimetre.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Layout {
    /// Corner and side of the code, quiet zone included.
    pub code: Option<(At, u32)>,
    /// The lines, the name first.
    pub lines: Vec<Line>,
}

impl Sheet {
    /// Where the ruler begins on a sheet; none where the labels leave no room for it.
    pub fn ruler(&self) -> Option<At> {
        let (width, height) = self.paper.size_dmm()?;
        let below = self.at(0).top_dmm + self.rows * self.height_dmm;
        let has_room = height.saturating_sub(below) >= RULER_ROOM_DMM && width > RULER_DMM;
        has_room.then(|| At { left_dmm: (width - RULER_DMM) / 2, top_dmm: below + BELOW_DMM })
    }
}

impl Label {
    /// What stands where on a label of this sheet: the code at the left, the name as large as there is room for, and
    /// below it the tag, lot, cultivar and group.
    pub fn layout(&self, sheet: &Sheet) -> Layout {
        let side = self.tag.as_deref().and_then(code).and_then(|_| sheet.code_dmm());
        let code = side.map(|side| (At { left_dmm: EDGE_DMM, top_dmm: (sheet.height_dmm - side) / 2 }, side));
        let left_dmm = side.map_or(EDGE_DMM * 2, |side| EDGE_DMM + side + EDGE_DMM / 2);
        let room = sheet.width_dmm.saturating_sub(left_dmm + EDGE_DMM);
        let tag = self.tag.as_deref().map(|tag| tag.parse().map_or_else(|_| tag.to_owned(), |tag: Tag| tag.grouped()));
        let (name, below) = match (&self.own_name, tag) {
            (Some(own), tag) => (own.clone(), tag),
            (None, tag) => (tag.unwrap_or_default(), None),
        };
        let others: Vec<String> =
            [below, self.lot.clone(), self.cultivar.clone(), self.group.clone()].into_iter().flatten().collect();
        let high = sheet.height_dmm.saturating_sub(2 * EDGE_DMM);
        // The name has half of the height, or as much as the other lines leave over.
        let n_others = others.len() as u32;
        let each = (high / 2 / n_others.max(1)).min(MOST_LETTER_DMM * 5 / 4);
        let n_fit = (high / 2 / (LEAST_LETTER_DMM * 5 / 4)).min(n_others);
        let each = each.max(if n_fit == 0 { 0 } else { LEAST_LETTER_DMM * 5 / 4 });
        let for_name = high.saturating_sub(each * n_fit);
        let mut lines = Vec::new();
        let mut top = EDGE_DMM;
        let texts = std::iter::once((name, for_name, MOST_NAME_DMM))
            .chain(others.into_iter().take(n_fit as usize).map(|text| (text, each, MOST_LETTER_DMM)));
        for (text, height, most) in texts {
            let fits = room * 100 / text_width_dmm(&text, 100).max(1);
            let size_dmm = (height * 4 / 5).min(most).min(fits).max(LEAST_LETTER_DMM);
            let text = if text_width_dmm(&text, size_dmm) > room { cut(&text, size_dmm, room) } else { text };
            // Letters stand in the middle of their line's height; capitals are 0.7 of their size high.
            lines.push(Line { text, left_dmm, baseline_dmm: top + (height + size_dmm * 7 / 10) / 2, size_dmm });
            top += height;
        }
        Layout { code, lines }
    }
}

/// As much of a text as there is room for, and a sign that there is more.
fn cut(text: &str, size_dmm: u32, room_dmm: u32) -> String {
    let mut shown = String::from("…");
    for letter in text.chars() {
        shown.insert(shown.len() - '…'.len_utf8(), letter);
        if text_width_dmm(&shown, size_dmm) > room_dmm {
            shown.remove(shown.len() - '…'.len_utf8() - letter.len_utf8());
            break;
        }
    }
    shown
}

/// What is on one label.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// The bulb.
    pub bulb: Id,
    /// Its tag, where it has one; the code is made of it.
    pub tag: Option<String>,
    /// The grower's own name or number.
    pub own_name: Option<String>,
    /// Name of its lot.
    pub lot: Option<String>,
    /// Its cultivar, where that is another word than the lot's name.
    pub cultivar: Option<String>,
    /// The day on which it was entered here.
    pub entered: Option<Date>,
    /// Its group in the try the labels are for, where that is wished.
    pub group: Option<String>,
}

/// Labels of a bulb, or of the bulbs of a place, a lot or a run, in the order in which they stand. `with_group` writes
/// a run's groups on them; without it whoever looks does not know which bulb had what, and looks stay fair.
pub fn labels(state: &State, subject: Id, with_group: bool) -> Vec<Label> {
    match subject.noun() {
        Some(Noun::Place) => state.bulbs_in(subject).into_iter().map(|bulb| label(state, bulb, None)).collect(),
        Some(Noun::Lot) => {
            let mut bulbs: Vec<&Bulb> =
                state.bulbs.values().filter(|bulb| bulb.is_here() && bulb.lot.shown() == Some(&subject)).collect();
            bulbs.sort_by_key(|bulb| (bulb.place, bulb.added, bulb.id));
            bulbs.into_iter().map(|bulb| label(state, bulb, None)).collect()
        }
        Some(Noun::Run) => of_run(state, subject, with_group),
        _ => state.bulb(&subject).into_iter().map(|bulb| label(state, bulb, None)).collect(),
    }
}

/// How many bulbs of a place were entered on a day: their labels may still be blank.
pub fn n_entered(state: &State, place: Id, day: Date) -> usize {
    let on_day = |bulb: &&Bulb| bulb.added.and_then(|(written, _)| written.day()) == Some(day);
    state.bulbs_in(place).into_iter().filter(|bulb| on_day(bulb)).count()
}

/// Bulbs of a run where they stand; those of a container one after the other.
fn of_run(state: &State, run: Id, with_group: bool) -> Vec<Label> {
    let Some(known) = state.runs.get(&run) else { return Vec::new() };
    let groups = known.allotment.settled().map(|allotment| allotment.groups.as_slice()).unwrap_or_default();
    let rows = by_place(state, known).into_iter().flat_map(|(_, rows)| rows);
    let labels = rows.flat_map(|row| {
        let name = groups.get(row.group).map_or("", |group| state.name_of(*group));
        let group = Some(name.to_owned()).filter(|name| with_group && !name.is_empty());
        let bulbs: Vec<&Bulb> = match row.unit.noun() {
            Some(Noun::Container) => {
                let stands_in = |bulb: &&Bulb| bulb.is_here() && bulb.container.is_some_and(|(pot, _)| pot == row.unit);
                state.bulbs.values().filter(stands_in).collect()
            }
            _ => state.bulb(&row.unit).into_iter().collect(),
        };
        bulbs.into_iter().map(move |bulb| label(state, bulb, group.clone())).collect::<Vec<_>>()
    });
    labels.collect()
}

fn label(state: &State, bulb: &Bulb, group: Option<String>) -> Label {
    let lot = bulb.lot.shown().and_then(|lot| state.lots.get(lot)).and_then(|lot| lot.shown());
    let said = |text: &str| Some(text.to_owned()).filter(|text| !text.is_empty());
    Label {
        bulb: bulb.id,
        tag: bulb.tag.shown().cloned(),
        own_name: bulb.own_name.shown().cloned(),
        lot: lot.and_then(|lot| said(&lot.name)),
        cultivar: lot.filter(|lot| lot.cultivar != lot.name).and_then(|lot| said(&lot.cultivar)),
        entered: bulb.added.and_then(|(written, _)| written.day()),
        group,
    }
}

/// Labels page by page, each with its place on the page; of the first page `n_used` places are left free, as they are
/// used already.
///
/// # Errors
/// When there is nothing to print, or no place is left free on the first page.
pub fn pages(sheet: &Sheet, labels: Vec<Label>, n_used: u32) -> Result<Vec<Vec<(u32, Label)>>, Refusal> {
    sheet.check()?;
    let n = sheet.n_on_page();
    if labels.is_empty() {
        return Err(Refusal::Nothing);
    }
    let n_used = if sheet.paper == Paper::One { 0 } else { n_used };
    if n_used >= n {
        return Err(Refusal::NoneLeft);
    }
    let mut pages: Vec<Vec<(u32, Label)>> = Vec::new();
    for (nth, label) in (n_used..).zip(labels) {
        if nth.is_multiple_of(n) || pages.is_empty() {
            pages.push(Vec::new());
        }
        if let Some(page) = pages.last_mut() {
            page.push((nth % n, label));
        }
    }
    Ok(pages)
}

/// A code as rows of modules, dark ones true.
///
/// Gives nothing for what no tag is, which cannot be written in the code's letters.
pub fn code(tag: &str) -> Option<Vec<Vec<bool>>> {
    let text = tag.to_uppercase();
    let code = QrCode::encode_text(&text, QrCodeEcc::High).ok()?;
    let side = code.size();
    Some((0..side).map(|y| (0..side).map(|x| code.get_module(x, y)).collect()).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, id};

    #[test]
    fn ready_sheets_lie_where_shops_cut_them() {
        let corners = SHEETS.map(|sheet| {
            sheet.check().unwrap();
            let first = sheet.at(0);
            (first.left_dmm, first.top_dmm, sheet.n_on_page())
        });
        // Margins of such sheets in tenths of a millimetre, as makers state them (from memory).
        assert_eq!(corners, [(72, 151, 21), (72, 129, 24), (80, 88, 44), (47, 107, 65), (46, 151, 14), (47, 127, 30)]);
        let sheet = SHEETS[0];
        assert_eq!(sheet.at(1), At { left_dmm: 72 + 635 + 25, top_dmm: 151 });
        assert_eq!(sheet.at(20), At { left_dmm: 72 + 2 * 660, top_dmm: 151 + 6 * 381 });
    }

    #[test]
    fn what_does_not_fit_the_paper_is_refused() {
        let of = |columns, rows, width_dmm, height_dmm| {
            Sheet { paper: Paper::A4, columns, rows, width_dmm, height_dmm, gap_dmm: 20 }.check()
        };
        assert_eq!(of(3, 7, 635, 381), Ok(()));
        assert_eq!(of(4, 7, 635, 381), Err(Refusal::TooWide));
        assert_eq!(of(3, 8, 635, 381), Err(Refusal::TooHigh));
        assert_eq!(of(0, 8, 635, 381), Err(Refusal::TooWide));
        assert_eq!(of(u32::MAX, u32::MAX, 635, 381), Err(Refusal::TooWide));
        assert_eq!(of(1, 1, 149, 381), Err(Refusal::NoSuchLabel));
        assert_eq!(of(1, 1, 635, 3001), Err(Refusal::NoSuchLabel));
        let one = Sheet { paper: Paper::One, columns: 0, rows: 0, width_dmm: 620, height_dmm: 290, gap_dmm: 0 };
        assert_eq!((one.check(), one.n_on_page(), one.at(0)), (Ok(()), 1, At { left_dmm: 0, top_dmm: 0 }));
    }

    #[test]
    fn a_code_is_printed_where_it_can_be_read() {
        let of = |width_dmm, height_dmm| {
            Sheet { paper: Paper::One, columns: 1, rows: 1, width_dmm, height_dmm, gap_dmm: 0 }.code_dmm()
        };
        assert_eq!((of(635, 381), of(991, 381), of(381, 212)), (Some(285), Some(300), Some(171)));
        assert_eq!((of(150, 80), of(300, 120), of(300, 140)), (None, None, Some(120)));
    }

    #[test]
    fn a_code_is_of_the_tag_and_of_the_smallest_version() {
        let tag = Tag::of_body("7K2PM").unwrap();
        let modules = code(tag.as_str()).unwrap();
        assert_eq!((modules.len(), modules[0].len()), (21, 21));
        // The three finders' corners are dark and the ring within them light (ISO/IEC 18004).
        for (x, y) in [(0, 0), (20, 0), (0, 20)] {
            assert!(modules[y][x]);
        }
        assert!(!modules[1][1] && modules[2][2]);
        let spelt: String = modules.iter().flatten().map(|dark| if *dark { '#' } else { '.' }).collect();
        assert_ne!(
            spelt,
            code("0CYPM7").unwrap().iter().flatten().map(|d| if *d { '#' } else { '.' }).collect::<String>()
        );
    }

    #[test]
    fn what_is_written_stays_on_its_label() {
        let tag = Tag::of_body("7K2PM").unwrap();
        let label = Label {
            bulb: id("b_1"),
            tag: Some(tag.as_str().to_owned()),
            own_name: Some("R12".to_owned()),
            lot: Some("Spring lot of the long bench by the door".to_owned()),
            cultivar: Some("Ember Stair".to_owned()),
            entered: None,
            group: Some("8 weeks".to_owned()),
        };
        let free = Sheet { paper: Paper::One, columns: 1, rows: 1, width_dmm: 250, height_dmm: 100, gap_dmm: 0 };
        for sheet in SHEETS.into_iter().chain([free]) {
            let layout = label.layout(&sheet);
            assert_eq!(layout.lines[0].text, "R12");
            assert_eq!(layout.code.is_some(), sheet != free);
            let mut before = 0;
            for line in &layout.lines {
                let right = line.left_dmm + text_width_dmm(&line.text, line.size_dmm);
                assert!(right <= sheet.width_dmm, "{sheet:?} {line:?}");
                assert!(line.baseline_dmm + line.size_dmm / 4 <= sheet.height_dmm, "{sheet:?} {line:?}");
                assert!(
                    line.baseline_dmm >= before + line.size_dmm * 7 / 10,
                    "{sheet:?} {line:?} lies on the one above"
                );
                assert!(line.size_dmm >= LEAST_LETTER_DMM);
                before = line.baseline_dmm;
            }
            assert!(layout.lines[0].size_dmm >= layout.lines.iter().map(|line| line.size_dmm).max().unwrap());
        }
        let tagged = Label { own_name: None, ..label };
        assert_eq!(tagged.layout(&SHEETS[0]).lines[0].text, tag.grouped());
        assert!(tagged.layout(&SHEETS[0]).lines[1].text.ends_with('…'));
    }

    #[test]
    fn every_ready_sheet_has_its_ruler() {
        for sheet in SHEETS {
            let ruler = sheet.ruler().unwrap();
            let (width, height) = sheet.paper.size_dmm().unwrap();
            assert!(ruler.left_dmm + RULER_DMM < width && ruler.top_dmm + 40 < height, "{sheet:?}");
        }
        assert_eq!(Sheet { rows: 8, height_dmm: 370, ..SHEETS[0] }.ruler(), None);
    }

    #[test]
    fn pages_go_on_where_the_first_sheet_was_left() {
        let label =
            Label { bulb: id("b_1"), tag: None, own_name: None, lot: None, cultivar: None, entered: None, group: None };
        let of = |n: usize, n_used| {
            let pages = pages(&SHEETS[0], vec![label.clone(); n], n_used)?;
            Ok(pages.iter().map(|page| (page[0].0, page.len())).collect::<Vec<_>>())
        };
        assert_eq!(of(3, 0), Ok(vec![(0, 3)]));
        assert_eq!(of(30, 18), Ok(vec![(18, 3), (0, 21), (0, 6)]));
        assert_eq!(of(21, 0), Ok(vec![(0, 21)]));
        assert_eq!((of(0, 0), of(1, 21)), (Err(Refusal::Nothing), Err(Refusal::NoneLeft)));
        let roll = Sheet { paper: Paper::One, columns: 1, rows: 1, width_dmm: 620, height_dmm: 290, gap_dmm: 0 };
        assert_eq!(pages(&roll, vec![label; 3], 7).map(|pages| pages.len()), Ok(3));
    }

    #[test]
    fn labels_stand_in_bench_order_and_hide_the_group_unless_wished() {
        let world = World::of(
            "0 mia place pl_1 One
             0 mia lot lo_1 Red
             0 mia bulb b_1 lo_1 in=pl_1
             0 mia bulb b_2 lo_1 in=pl_1
             0 mia own b_1 R2
             0 mia own b_2 R1",
        );
        let state = State::fold(&world.ledger);
        let names = |subject| {
            labels(&state, id(subject), true).into_iter().map(|label| label.own_name.unwrap()).collect::<Vec<_>>()
        };
        assert_eq!(
            (names("pl_1"), names("lo_1"), names("b_2")),
            (vec!["R2".into(), "R1".into()], vec!["R2".into(), "R1".into()], vec!["R1".into()])
        );
        assert_eq!(names("pl_9"), [""; 0]);
        let first = &labels(&state, id("pl_1"), true)[0];
        assert_eq!((first.lot.as_deref(), first.group.as_deref()), (Some("Red"), None));
    }
}
