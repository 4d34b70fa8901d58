//! Marks on photos as records hold them, and what they say: read anew each time, never stored.

use super::{Estimate, NoNumber, Plane, Point, Rise, growth, neck};
use crate::{
    calendar::Date,
    ledger::{
        Ledger,
        body::{Body, Foot, Marked, PhotoMarks, Spot},
        id::{AttachmentHash, EntryId, Id},
    },
    limits::{self, Limit},
    nursery::Bulb,
};

/// Tenths of a pixel that a record may hold: a picture of 16,000 pixels.
const DECIPX_MAX: f64 = 160_000.0;

impl From<Spot> for Point {
    fn from(spot: Spot) -> Self {
        Self::new(f64::from(spot.x_decipx) / 10.0, f64::from(spot.y_decipx) / 10.0)
    }
}

impl From<Point> for Spot {
    /// To the nearest tenth of a pixel; what lies left of or above the picture on its edge.
    fn from(point: Point) -> Self {
        let tenths = |px: f64| (px * 10.0).round().clamp(0.0, DECIPX_MAX) as u32;
        Self { x_decipx: tenths(point.x), y_decipx: tenths(point.y) }
    }
}

impl Foot {
    /// Where it is.
    pub fn point(&self) -> Point {
        Spot { x_decipx: self.x_decipx, y_decipx: self.y_decipx }.into()
    }
}

fn points(spots: &[Spot]) -> Vec<Point> {
    spots.iter().map(|spot| Point::from(*spot)).collect()
}

/// What gives these marks their scale.
fn plane(marks: &PhotoMarks) -> Result<Plane, NoNumber> {
    if let Ok(corners) = <[Point; 4]>::try_from(points(&marks.card)) {
        return Ok(Plane::Card(corners));
    }
    match (points(&marks.ruler).as_slice(), marks.ruler_mm) {
        ([from, to], Some(mm)) => Ok(Plane::Ruler { from: *from, to: *to, mm: f64::from(mm) }),
        _ => Err(NoNumber::NoScale),
    }
}

/// The length that marks measure, in mm: between the two ends, in the plane of card or ruler.
///
/// # Errors
/// Why they give no number.
pub fn length_mm(marks: &PhotoMarks) -> Result<Estimate, NoNumber> {
    let [from, to] = points(&marks.ends)[..] else {
        return Err(NoNumber::MarksTogether);
    };
    plane(marks)?.length(from, to)
}

/// Each marked foot with its place of rise.
///
/// # Errors
/// Why they give no number.
pub fn rises(marks: &PhotoMarks) -> Result<Vec<(Option<Id>, Estimate)>, NoNumber> {
    if marks.feet.is_empty() {
        return Err(NoNumber::NoFoot);
    }
    let outline = points(&marks.outline);
    let rise = |foot: &Foot| Ok((foot.shoot, neck::rise(&outline, foot.point())?));
    marks.feet.iter().map(rise).collect()
}

/// Circumference of a bulb from its width on a photo, lower and upper end in whole mm; as if it were round.
pub fn circumference_mm(marks: &PhotoMarks) -> Option<(i64, i64)> {
    if marks.what != Marked::Width {
        return None;
    }
    let around = length_mm(marks).ok()?.around();
    let (low, high) = ((around.value - around.error).floor() as i64, (around.value + around.error).ceil() as i64);
    let limit = &limits::CIRCUMFERENCE_MM;
    (limit.contains(low) && limit.contains(high)).then_some((low, high))
}

/// Whether marks give a number that a record of it could hold.
///
/// # Errors
/// Why not.
pub fn check(marks: &PhotoMarks) -> crate::error::Result<()> {
    let no_number = crate::error::Error::new;
    let limit: &'static Limit = match marks.what {
        Marked::Neck => return rises(marks).map(|_| ()).map_err(no_number),
        Marked::Height => &limits::HEIGHT_MM,
        Marked::Thickness => &limits::NECK_MM,
        Marked::Width => &limits::CIRCUMFERENCE_MM,
    };
    let length = length_mm(marks).map_err(no_number)?;
    let length = if marks.what == Marked::Width { length.around() } else { length };
    limit.check(length.value.round() as i64).map(|_| ())
}

/// Marks that stand on a photo of a bulb.
#[derive(Clone, Debug, PartialEq)]
pub struct OnPhoto {
    /// The entry.
    pub entry: EntryId,
    /// When the photo was taken.
    pub on: Date,
    /// The marks.
    pub marks: PhotoMarks,
}

impl OnPhoto {
    /// What is measured in mm; nothing for the outline of a neck, and where the marks give no number.
    pub fn length_mm(&self) -> Option<Estimate> {
        if self.marks.what == Marked::Neck { None } else { length_mm(&self.marks).ok() }
    }
}

/// All marks on photos of a bulb, oldest first.
pub fn on_photos(ledger: &Ledger, bulb: &Bulb) -> Vec<OnPhoto> {
    let standing = bulb.in_force(ledger);
    let marks = standing.into_iter().filter_map(|entry| match &entry.body {
        Body::PhotoMarks(marks) => {
            Some(OnPhoto { entry: entry.id, on: entry.envelope.happened.date(), marks: marks.clone() })
        }
        _ => None,
    });
    marks.collect()
}

/// What grew between the last two photos on different days that measure the same, in mm a day.
pub fn grown(all: &[OnPhoto], what: Marked, shoot: Option<Id>) -> Option<(Date, Date, Estimate)> {
    let mut same = all.iter().rev().filter(|one| one.marks.what == what && one.marks.shoot == shoot);
    let measured = same.by_ref().find_map(|one| Some((one.on, one.length_mm()?)));
    let (to, length) = measured?;
    let (from, before) = same.filter(|one| one.on < to).find_map(|one| Some((one.on, one.length_mm()?)))?;
    Some((from, to, growth((from, before), (to, length)).ok()?))
}

/// The same of everything that was measured on photos of two days.
pub fn all_grown(all: &[OnPhoto]) -> Vec<(Marked, Date, Date, Estimate)> {
    let mut known: Vec<(Marked, Option<Id>)> = Vec::new();
    for one in all.iter().filter(|one| one.marks.what != Marked::Neck) {
        let this = (one.marks.what, one.marks.shoot);
        if !known.contains(&this) {
            known.push(this);
        }
    }
    let of = |(what, shoot): (Marked, Option<Id>)| {
        let (from, to, a_day) = grown(all, what, shoot)?;
        Some((what, from, to, a_day))
    };
    known.into_iter().filter_map(of).collect()
}

/// Where a shoot rises, as the last photo on which its foot was marked shows it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RiseOf {
    /// When the photo was taken.
    pub on: Date,
    /// The place of rise, 0 centre to 1 rim.
    pub index: Estimate,
    /// What that says: the answer to where it rises, or that it can't be told.
    pub rise: Rise,
}

/// The place of rise of a shoot of this bulb; nothing where no photo has its foot.
pub fn rise_of(ledger: &Ledger, bulb: &Bulb, shoot: Id) -> Option<RiseOf> {
    let all = on_photos(ledger, bulb);
    let marked = all.iter().rev().filter(|one| one.marks.what == Marked::Neck);
    let mut found = marked.filter_map(|one| {
        let (_, index) = rises(&one.marks).ok()?.into_iter().find(|(of, _)| *of == Some(shoot))?;
        Some(RiseOf { on: one.on, index, rise: Rise::of(index) })
    });
    found.next()
}

/// The marks of a photo that were made last, of whatever kind: the card is where it was.
pub fn last_scale(all: &[OnPhoto], photo: AttachmentHash) -> Option<&PhotoMarks> {
    let mut of_it = all.iter().rev().map(|one| &one.marks).filter(|marks| marks.photo == photo);
    of_it.find(|marks| plane(marks).is_ok())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, day, id};

    const CARD: &str = r#""card":[{"x_decipx":4000,"y_decipx":8000},{"x_decipx":7424,"y_decipx":8000},
        {"x_decipx":7424,"y_decipx":10159},{"x_decipx":4000,"y_decipx":10159}]"#;

    fn marks(on: i64, what: &str, fields: &str) -> String {
        let hash = AttachmentHash::of(b"a picture");
        let body = format!(r#"{{"photo":"{hash}","what":"{what}",{fields}}}"#).replace('\n', "");
        format!("{on} mia json b_1 photo-marks {body}\n")
    }

    fn ends(length_px: u32) -> String {
        format!(
            r#"{CARD},"shoot":"s_1","ends":[{{"x_decipx":9000,"y_decipx":9000}},{{"x_decipx":9000,"y_decipx":{}}}]"#,
            9000 - 10 * length_px
        )
    }

    fn world() -> World {
        World::of(
            "-30 mia place pl_1 One
             -30 mia lot lo_1 Red
             -30 mia bulb b_1 lo_1 in=pl_1",
        )
    }

    #[test]
    fn a_shoot_grew_between_two_photos_and_the_card_gives_the_scale() {
        // Four pixels are a millimetre.
        let world = world().and(&marks(3, "height", &ends(200))).and(&marks(6, "height", &ends(320)));
        let state = world.state();
        let all = on_photos(&world.ledger, state.bulb(&id("b_1")).unwrap());
        let lengths: Vec<f64> = all.iter().map(|one| one.length_mm().unwrap().value.round()).collect();
        assert_eq!(lengths, [50.0, 80.0]);
        let (from, to, grown) = grown(&all, Marked::Height, Some(id("s_1"))).unwrap();
        assert_eq!((from, to, grown.value.round()), (day(3), day(6), 10.0));
        assert!(last_scale(&all, AttachmentHash::of(b"a picture")).is_some());
    }

    #[test]
    fn a_width_is_a_circumference_until_a_tape_says_it_better() {
        let world = world().and(&marks(3, "width", &ends(300)));
        let (low, high) = world.state().bulb(&id("b_1")).unwrap().circumference_mm.unwrap();
        assert!(low < 236 && 236 < high && high - low < 20, "{low} to {high}");
        let tape = r#"2 mia json b_1 measure {"what":"circumference","mm":241}"#;
        assert_eq!(world.and(tape).state().bulb(&id("b_1")).unwrap().circumference_mm, Some((241, 241)));
    }

    #[test]
    fn the_foot_of_a_shoot_in_the_necks_outline_says_where_it_rises() {
        let rim = neck::Ellipse { center: Point::new(800.0, 600.0), semi_axes_px: (150.0, 120.0), along: (1.0, 0.0) };
        let spot = |point: Point| {
            let Spot { x_decipx, y_decipx } = point.into();
            format!(r#""x_decipx":{x_decipx},"y_decipx":{y_decipx}"#)
        };
        let outline: Vec<String> = (0..6).map(|at| format!("{{{}}}", spot(rim.rim(f64::from(at) / 6.0)))).collect();
        let foot = |shoot: &str, x: f64| format!(r#"{{"shoot":"{shoot}",{}}}"#, spot(Point::new(x, 600.0)));
        let fields =
            format!(r#""outline":[{}],"feet":[{},{}]"#, outline.join(","), foot("s_1", 920.0), foot("s_2", 810.0));
        let world = world().and(&marks(3, "neck", &fields));
        let state = world.state();
        let of = |shoot| rise_of(&world.ledger, state.bulb(&id("b_1")).unwrap(), id(shoot));
        let side = of("s_1").unwrap();
        assert!((side.index.value - 0.8).abs() < 0.01 && side.index.error < 0.05, "{side:?}");
        assert_eq!((side.rise, side.on), (Rise::Beside, day(3)));
        assert_eq!(of("s_2").unwrap().rise, Rise::Middle);
        assert_eq!(of("s_3"), None);
    }

    #[test]
    fn marks_without_a_number_are_not_recorded() {
        let of = |card: Vec<Spot>, ends: Vec<Spot>| PhotoMarks {
            photo: AttachmentHash::of(b"a picture"),
            what: Marked::Height,
            card,
            ruler: Vec::new(),
            ruler_mm: None,
            ends,
            outline: Vec::new(),
            feet: Vec::new(),
            shoot: None,
        };
        let spot = |x, y| Spot::from(Point::new(x, y));
        let card = vec![spot(400.0, 800.0), spot(742.4, 800.0), spot(742.4, 1015.9), spot(400.0, 1015.9)];
        let ends = vec![spot(900.0, 900.0), spot(900.0, 500.0)];
        assert!(check(&of(card.clone(), ends.clone())).is_ok());
        assert_eq!(check(&of(Vec::new(), ends)), Err(crate::error::Error::new(NoNumber::NoScale)));
        assert!(check(&of(card, vec![spot(900.0, 900.0); 2])).is_err());
    }
}
