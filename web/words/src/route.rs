//! Addresses: everything after the `#`, so that any sub-path of any static host works.

use std::fmt;

use bloomdue_core::ledger::id::{EntryId, Id, Noun};

use crate::glossary::Term;
use crate::knowledge::Page;

/// Stands in an address for no place.
const NO_PLACE: &str = "none";

/// Stands in an address for a job that is not there yet.
const NEW_JOB: &str = "new-job";

/// A screen.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(test, derive(strum::EnumCount))]
pub enum Route {
    /// What needs hands today.
    Due,
    /// One job, at a place or at none, by the key that names it.
    Job(Option<Id>, String),
    /// Care plans of the nursery, its places and treatments.
    CarePlans,
    /// The care plan of the nursery, a place, a treatment or a run.
    CarePlan(Id),
    /// One of its jobs; a new one when the name is empty.
    CareJob(Id, String),
    /// What is coming; for the days of a try or a saved plan, where one is named.
    Coming(Option<Id>),
    /// The week on paper.
    Week,
    /// Days to come for a calendar.
    CalendarFile,
    /// The published claims that numbers start from.
    Published,
    /// All places.
    Places,
    /// A new place.
    NewPlace,
    /// One place.
    Place(Id),
    /// The light of one place.
    Light(Id),
    /// Its name, kind and covers.
    EditPlace(Id),
    /// The walk through it.
    Walk(Id),
    /// Bulbs added to it.
    AddBulbs(Id),
    /// Labels of a bulb, or of the bulbs of a place, a lot or a run.
    Labels(Id),
    /// A label before the camera.
    Scan,
    /// Several bulbs of a place or a lot at once: another lot, or taken out.
    Several(Id),
    /// Lots with their cultivars.
    Lots,
    /// One lot: its names.
    Lot(Id),
    /// Who records on this device.
    Who,
    /// Its walk sheet on paper.
    Sheet(Id),
    /// Typing a walk sheet in.
    TypeIn(Id),
    /// One bulb.
    Bulb(Id),
    /// A full look at it.
    Look(Id),
    /// Its names and lot.
    EditBulb(Id),
    /// The other bulb that this one is.
    SameBulb(Id),
    /// A call on one of its shoots.
    Call(Id, Id),
    /// How calls turned out.
    Calls,
    /// Practising to tell stalk from leaf.
    Practice,
    /// Measuring on one of its photos, by the record of the photo.
    Measure(Id, EntryId),
    /// Its photos side by side.
    SideBySide(Id),
    /// One container.
    Container(Id),
    /// Pots and mix: how much, for a container or any pot.
    Potting(Option<Id>),
    /// Something done to a bulb, a container, a place, or a group of a run.
    Care(Id, Option<Id>),
    /// The form of one act or observation, by its word.
    CareForm(Id, Option<Id>, String),
    /// The form of the act that a job asks for, with the job's bulbs.
    JobForm(Option<Id>, String),
    /// What may be wrong with a bulb in a walk; the form of it when a word is given.
    Trouble(Id, Option<String>),
    /// One record, to put right or take back.
    Record(EntryId),
    /// A look, to put right.
    MendLook(EntryId),
    /// Finding a bulb.
    Find,
    /// All bulbs in one list.
    Stock,
    /// Stalks to expect by size.
    Scapes,
    /// All trials.
    Trials,
    /// The plan back from a date; a new one, or one that was saved.
    PlanBack(Option<Id>),
    /// A new trial.
    NewTrial,
    /// One trial.
    Trial(Id),
    /// Same again: a further try.
    Again(Id),
    /// All that the tries of a trial say.
    TriesResult(Id),
    /// One run and how it stands.
    Run(Id),
    /// Its groups on paper, where they stand.
    Groups(Id),
    /// All that a run says.
    Result(Id),
    /// The season report of a run, or of a trial with all its runs, on paper.
    Report(Id),
    /// One page of a run to hand round.
    Show(Id),
    /// Files.
    Files,
    /// Taking a file in.
    TakeIn,
    /// Persons and who records here.
    People,
    /// What this device keeps, and wiping it.
    Storage,
    /// What others lack, as a file for them.
    Evening,
    /// All that is recorded as tables.
    Tables,
    /// Values that differ.
    Disagreements,
    /// Short pages to read; one of them, where it is named.
    Knowledge(Option<Page>),
    /// What the words mean; one of them, where it is named.
    Words(Option<Term>),
    /// Choosing a nursery.
    Start,
}

impl Route {
    /// Reads an address; what cannot be read is Due.
    pub fn parse(hash: &str) -> Self {
        let path: Vec<&str> = hash.trim_start_matches('#').split('/').filter(|part| !part.is_empty()).collect();
        Self::of(&path).unwrap_or(Self::Due)
    }

    /// The screen that a draft's key leads back to: a word for the form, a space, then the screen's address.
    pub fn parse_key(key: &str) -> Option<Self> {
        let (_, address) = key.split_once(' ')?;
        let path: Vec<&str> = address.split('/').filter(|part| !part.is_empty()).collect();
        Self::of(&path)
    }

    /// What a form on this screen is of, where that has a name.
    pub fn subject(&self) -> Option<Id> {
        match self {
            Self::EditPlace(id)
            | Self::Light(id)
            | Self::TypeIn(id)
            | Self::AddBulbs(id)
            | Self::Place(id)
            | Self::Bulb(id)
            | Self::Look(id)
            | Self::EditBulb(id)
            | Self::Measure(id, _)
            | Self::Container(id)
            | Self::Potting(Some(id))
            | Self::CareJob(id, _)
            | Self::Job(Some(id), _)
            | Self::Care(_, Some(id))
            | Self::CareForm(_, Some(id), _)
            | Self::CareForm(id, None, _)
            | Self::Trouble(id, _)
            | Self::Lot(id)
            | Self::Several(id)
            | Self::Labels(id)
            | Self::JobForm(Some(id), _)
            | Self::Care(id, None)
            | Self::Again(id)
            | Self::PlanBack(Some(id)) => Some(*id),
            _ => None,
        }
    }

    fn of(path: &[&str]) -> Option<Self> {
        let id = |n: usize, noun: Noun| path.get(n).and_then(|text| Id::parse(text).ok()).filter(|id| id.is(noun));
        Some(match *path {
            ["due", "plans"] => Self::CarePlans,
            ["due", "coming"] => Self::Coming(None),
            ["due", "coming", of] => Self::Coming(Some(Id::parse(of).ok()?)),
            ["due", "week"] => Self::Week,
            ["due", "calendar"] => Self::CalendarFile,
            ["due", "published"] => Self::Published,
            ["due", what @ ("job" | "do"), place, ref key @ ..] => {
                let place = (place != NO_PLACE).then(|| id(2, Noun::Place));
                let place = match place {
                    Some(known) => Some(known?),
                    None => None,
                };
                let key = key.join("/");
                if what == "do" { Self::JobForm(place, key) } else { Self::Job(place, key) }
            }
            ["plan", subject] => Self::CarePlan(Id::parse(subject).ok()?),
            ["plan", subject, NEW_JOB] => Self::CareJob(Id::parse(subject).ok()?, String::new()),
            ["plan", subject, slot] => Self::CareJob(Id::parse(subject).ok()?, slot.to_owned()),
            ["places"] => Self::Places,
            ["places", "new"] => Self::NewPlace,
            ["place", _] => Self::Place(id(1, Noun::Place)?),
            ["place", _, "light"] => Self::Light(id(1, Noun::Place)?),
            ["place", _, "edit"] => Self::EditPlace(id(1, Noun::Place)?),
            ["place", _, "walk"] => Self::Walk(id(1, Noun::Place)?),
            ["several", subject] => Self::Several(Id::parse(subject).ok()?),
            ["labels", subject] => Self::Labels(Id::parse(subject).ok()?),
            ["scan"] => Self::Scan,
            ["lots"] => Self::Lots,
            ["lot", _] => Self::Lot(id(1, Noun::Lot)?),
            ["place", _, "add"] => Self::AddBulbs(id(1, Noun::Place)?),
            ["place", _, "sheet"] => Self::Sheet(id(1, Noun::Place)?),
            ["place", _, "type-in"] => Self::TypeIn(id(1, Noun::Place)?),
            ["bulb", _] => Self::Bulb(id(1, Noun::Bulb)?),
            ["bulb", _, "look"] => Self::Look(id(1, Noun::Bulb)?),
            ["bulb", _, "edit"] => Self::EditBulb(id(1, Noun::Bulb)?),
            ["bulb", _, "same"] => Self::SameBulb(id(1, Noun::Bulb)?),
            ["bulb", _, "measure", photo] => Self::Measure(id(1, Noun::Bulb)?, EntryId::parse(photo).ok()?),
            ["bulb", _, "photos"] => Self::SideBySide(id(1, Noun::Bulb)?),
            ["bulb", _, "call", _] => Self::Call(id(1, Noun::Bulb)?, id(3, Noun::Shoot)?),
            ["calls"] => Self::Calls,
            ["calls", "practice"] => Self::Practice,
            ["container", _] => Self::Container(id(1, Noun::Container)?),
            ["container", _, "mix"] => Self::Potting(Some(id(1, Noun::Container)?)),
            ["places", "mix"] => Self::Potting(None),
            ["bulb", _, "trouble"] => Self::Trouble(id(1, Noun::Bulb)?, None),
            ["bulb", _, "trouble", word] => Self::Trouble(id(1, Noun::Bulb)?, Some(word.to_owned())),
            ["care", subject, "do", word] => Self::CareForm(Id::parse(subject).ok()?, None, word.to_owned()),
            ["care", run, _, "do", word] => {
                let group = id(2, Noun::Group)?;
                Self::CareForm(Id::parse(run).ok()?, Some(group), word.to_owned())
            }
            ["care", subject] => Self::Care(Id::parse(subject).ok()?, None),
            ["care", run, _] => Self::Care(Id::parse(run).ok()?, Some(id(2, Noun::Group)?)),
            ["record", entry] => Self::Record(EntryId::parse(entry).ok()?),
            ["record", entry, "look"] => Self::MendLook(EntryId::parse(entry).ok()?),
            ["find"] => Self::Find,
            ["stock"] => Self::Stock,
            ["stock", "sizes"] => Self::Scapes,
            ["trials"] => Self::Trials,
            ["trials", "new"] => Self::NewTrial,
            ["trials", "plan"] => Self::PlanBack(None),
            ["trials", "plan", _] => Self::PlanBack(Some(id(2, Noun::Forcing)?)),
            ["trial", _] => Self::Trial(id(1, Noun::Trial)?),
            ["trial", _, "again"] => Self::Again(id(1, Noun::Trial)?),
            ["trial", _, "result"] => Self::TriesResult(id(1, Noun::Trial)?),
            ["run", _] => Self::Run(id(1, Noun::Run)?),
            ["run", _, "result"] => Self::Result(id(1, Noun::Run)?),
            ["run", _, "report"] => Self::Report(id(1, Noun::Run)?),
            ["trial", _, "report"] => Self::Report(id(1, Noun::Trial)?),
            ["run", _, "show"] => Self::Show(id(1, Noun::Run)?),
            ["run", _, "groups"] => Self::Groups(id(1, Noun::Run)?),
            ["files"] => Self::Files,
            ["files", "in"] => Self::TakeIn,
            ["files", "people"] => Self::People,
            ["files", "storage"] => Self::Storage,
            ["files", "evening"] => Self::Evening,
            ["files", "tables"] => Self::Tables,
            ["files", "disagreements"] => Self::Disagreements,
            ["files", "who"] => Self::Who,
            ["files", "know"] => Self::Knowledge(None),
            ["files", "know", page] => Self::Knowledge(Some(Page::from_key(page)?)),
            ["files", "words"] => Self::Words(None),
            ["files", "words", term] => Self::Words(Some(Term::from_key(term)?)),
            ["start"] => Self::Start,
            _ => return None,
        })
    }

    /// The address for a link.
    pub fn href(&self) -> String {
        format!("#{self}")
    }

    /// Which of the four places at the foot it belongs to.
    pub fn room(&self) -> Room {
        match self {
            Self::Due
            | Self::Start
            | Self::Job(..)
            | Self::JobForm(..)
            | Self::CarePlans
            | Self::CarePlan(_)
            | Self::CareJob(..)
            | Self::Coming(_)
            | Self::Week
            | Self::CalendarFile
            | Self::Published => Room::Due,
            Self::Trials
            | Self::PlanBack(_)
            | Self::NewTrial
            | Self::Trial(_)
            | Self::Again(_)
            | Self::TriesResult(_)
            | Self::Run(_)
            | Self::Groups(_)
            | Self::Result(_)
            | Self::Report(_)
            | Self::Calls
            | Self::Practice
            | Self::Show(_) => Room::Trials,
            Self::Files
            | Self::TakeIn
            | Self::People
            | Self::Who
            | Self::Storage
            | Self::Evening
            | Self::Tables
            | Self::Disagreements
            | Self::Knowledge(_)
            | Self::Words(_) => Room::Files,
            _ => Room::Places,
        }
    }

    /// Whether the screen reads entries and not only what they come to: it waits until every entry is here.
    pub fn needs_ledger(&self) -> bool {
        !matches!(
            self,
            Self::Due
                | Self::Job(..)
                | Self::CarePlans
                | Self::CarePlan(_)
                | Self::CareJob(..)
                | Self::Week
                | Self::Published
                | Self::Places
                | Self::Start
                | Self::Words(_)
                | Self::Knowledge(_)
                | Self::NewPlace
                | Self::EditPlace(_)
                | Self::Light(_)
                | Self::Place(_)
                | Self::AddBulbs(_)
                | Self::Walk(_)
                | Self::Care(..)
                | Self::CareForm(..)
                | Self::JobForm(..)
                | Self::Trouble(..)
                | Self::Lots
                | Self::Lot(_)
                | Self::Who
                | Self::Container(_)
                | Self::Potting(_)
                | Self::Find
                | Self::Labels(_)
                | Self::Scan
                | Self::Stock
                | Self::Sheet(_)
                | Self::People
                | Self::PlanBack(_)
        )
    }

    /// Whether it fills the whole screen, without the bar at the foot.
    pub fn is_whole_screen(&self) -> bool {
        matches!(self, Self::Walk(_) | Self::Sheet(_) | Self::Groups(_) | Self::Report(_) | Self::Week | Self::Start)
    }
}

/// The four places at the foot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Room {
    /// What needs hands.
    Due,
    /// Where bulbs stand.
    Places,
    /// What is tried.
    Trials,
    /// Out and in.
    Files,
}

impl Room {
    /// The screen one lands on.
    pub fn route(self) -> Route {
        match self {
            Self::Due => Route::Due,
            Self::Places => Route::Places,
            Self::Trials => Route::Trials,
            Self::Files => Route::Files,
        }
    }
}

impl fmt::Display for Route {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Due => f.write_str("/due"),
            Self::Job(place, key) => {
                let place = place.as_ref().map_or(NO_PLACE, Id::as_str);
                write!(f, "/due/job/{place}/{key}")
            }
            Self::JobForm(place, key) => {
                let place = place.as_ref().map_or(NO_PLACE, Id::as_str);
                write!(f, "/due/do/{place}/{key}")
            }
            Self::CarePlans => f.write_str("/due/plans"),
            Self::CarePlan(id) => write!(f, "/plan/{id}"),
            Self::CareJob(id, slot) if slot.is_empty() => write!(f, "/plan/{id}/{NEW_JOB}"),
            Self::CareJob(id, slot) => write!(f, "/plan/{id}/{slot}"),
            Self::Coming(None) => f.write_str("/due/coming"),
            Self::Coming(Some(of)) => write!(f, "/due/coming/{of}"),
            Self::Week => f.write_str("/due/week"),
            Self::CalendarFile => f.write_str("/due/calendar"),
            Self::Published => f.write_str("/due/published"),
            Self::Places => f.write_str("/places"),
            Self::NewPlace => f.write_str("/places/new"),
            Self::Place(id) => write!(f, "/place/{id}"),
            Self::EditPlace(id) => write!(f, "/place/{id}/edit"),
            Self::Light(id) => write!(f, "/place/{id}/light"),
            Self::Walk(id) => write!(f, "/place/{id}/walk"),
            Self::AddBulbs(id) => write!(f, "/place/{id}/add"),
            Self::Several(id) => write!(f, "/several/{id}"),
            Self::Labels(id) => write!(f, "/labels/{id}"),
            Self::Scan => f.write_str("/scan"),
            Self::Lots => f.write_str("/lots"),
            Self::Lot(id) => write!(f, "/lot/{id}"),
            Self::Sheet(id) => write!(f, "/place/{id}/sheet"),
            Self::TypeIn(id) => write!(f, "/place/{id}/type-in"),
            Self::Bulb(id) => write!(f, "/bulb/{id}"),
            Self::Look(id) => write!(f, "/bulb/{id}/look"),
            Self::EditBulb(id) => write!(f, "/bulb/{id}/edit"),
            Self::SameBulb(id) => write!(f, "/bulb/{id}/same"),
            Self::Call(bulb, shoot) => write!(f, "/bulb/{bulb}/call/{shoot}"),
            Self::Calls => write!(f, "/calls"),
            Self::Practice => write!(f, "/calls/practice"),
            Self::Measure(bulb, photo) => write!(f, "/bulb/{bulb}/measure/{photo}"),
            Self::SideBySide(bulb) => write!(f, "/bulb/{bulb}/photos"),
            Self::Container(id) => write!(f, "/container/{id}"),
            Self::Potting(None) => f.write_str("/places/mix"),
            Self::Potting(Some(id)) => write!(f, "/container/{id}/mix"),
            Self::Trouble(id, None) => write!(f, "/bulb/{id}/trouble"),
            Self::Trouble(id, Some(word)) => write!(f, "/bulb/{id}/trouble/{word}"),
            Self::CareForm(id, None, word) => write!(f, "/care/{id}/do/{word}"),
            Self::CareForm(id, Some(group), word) => write!(f, "/care/{id}/{group}/do/{word}"),
            Self::Care(id, None) => write!(f, "/care/{id}"),
            Self::Care(id, Some(group)) => write!(f, "/care/{id}/{group}"),
            Self::Record(id) => write!(f, "/record/{id}"),
            Self::MendLook(id) => write!(f, "/record/{id}/look"),
            Self::Find => f.write_str("/find"),
            Self::Stock => f.write_str("/stock"),
            Self::Scapes => f.write_str("/stock/sizes"),
            Self::Trials => f.write_str("/trials"),
            Self::NewTrial => f.write_str("/trials/new"),
            Self::PlanBack(None) => f.write_str("/trials/plan"),
            Self::PlanBack(Some(id)) => write!(f, "/trials/plan/{id}"),
            Self::Trial(id) => write!(f, "/trial/{id}"),
            Self::Again(id) => write!(f, "/trial/{id}/again"),
            Self::TriesResult(id) => write!(f, "/trial/{id}/result"),
            Self::Run(id) => write!(f, "/run/{id}"),
            Self::Result(id) => write!(f, "/run/{id}/result"),
            Self::Report(id) if id.is(Noun::Trial) => write!(f, "/trial/{id}/report"),
            Self::Report(id) => write!(f, "/run/{id}/report"),
            Self::Show(id) => write!(f, "/run/{id}/show"),
            Self::Groups(id) => write!(f, "/run/{id}/groups"),
            Self::Files => f.write_str("/files"),
            Self::TakeIn => f.write_str("/files/in"),
            Self::People => f.write_str("/files/people"),
            Self::Who => f.write_str("/files/who"),
            Self::Storage => f.write_str("/files/storage"),
            Self::Evening => f.write_str("/files/evening"),
            Self::Tables => f.write_str("/files/tables"),
            Self::Disagreements => f.write_str("/files/disagreements"),
            Self::Knowledge(None) => f.write_str("/files/know"),
            Self::Knowledge(Some(page)) => write!(f, "/files/know/{}", page.key()),
            Self::Words(None) => f.write_str("/files/words"),
            Self::Words(Some(term)) => write!(f, "/files/words/{}", term.key()),
            Self::Start => f.write_str("/start"),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use bloomdue_core::ledger::id::Ids;
    use proptest::prelude::*;
    use strum::EnumCount as _;

    use super::*;

    /// Every kind of screen, of newly drawn things.
    fn every(seed: [u8; 32], word: &str, key: &str) -> Vec<Route> {
        let mut ids = Ids::new(seed);
        let mut id = |noun| ids.draw(noun);
        let (place, bulb, lot, container) = (id(Noun::Place), id(Noun::Bulb), id(Noun::Lot), id(Noun::Container));
        let (trial, run, group, forcing) = (id(Noun::Trial), id(Noun::Run), id(Noun::Group), id(Noun::Forcing));
        let (ledger, shoot, entry) = (id(Noun::Ledger), id(Noun::Shoot), EntryId(seed));
        let (word, key) = (word.to_owned(), key.to_owned());
        vec![
            Route::Due,
            Route::Job(Some(place), key.clone()),
            Route::Job(None, key.clone()),
            Route::CarePlans,
            Route::CarePlan(ledger),
            Route::CarePlan(group),
            Route::CareJob(place, word.clone()),
            Route::CareJob(run, String::new()),
            Route::Coming(None),
            Route::Coming(Some(run)),
            Route::Coming(Some(forcing)),
            Route::Week,
            Route::CalendarFile,
            Route::Published,
            Route::Places,
            Route::NewPlace,
            Route::EditPlace(place),
            Route::Light(place),
            Route::Place(place),
            Route::Walk(place),
            Route::AddBulbs(place),
            Route::Several(place),
            Route::Several(lot),
            Route::Labels(place),
            Route::Labels(lot),
            Route::Labels(run),
            Route::Scan,
            Route::Lots,
            Route::Lot(lot),
            Route::Who,
            Route::Sheet(place),
            Route::TypeIn(place),
            Route::Bulb(bulb),
            Route::Look(bulb),
            Route::EditBulb(bulb),
            Route::SameBulb(bulb),
            Route::Call(bulb, shoot),
            Route::Calls,
            Route::Practice,
            Route::Measure(bulb, entry),
            Route::SideBySide(bulb),
            Route::Container(container),
            Route::Potting(None),
            Route::Potting(Some(container)),
            Route::Care(bulb, None),
            Route::Care(container, None),
            Route::Care(run, Some(group)),
            Route::CareForm(place, None, word.clone()),
            Route::CareForm(run, Some(group), word.clone()),
            Route::JobForm(Some(place), key.clone()),
            Route::JobForm(None, key),
            Route::Trouble(bulb, None),
            Route::Trouble(bulb, Some(word)),
            Route::Record(entry),
            Route::MendLook(entry),
            Route::Find,
            Route::Stock,
            Route::Scapes,
            Route::Trials,
            Route::PlanBack(None),
            Route::PlanBack(Some(forcing)),
            Route::NewTrial,
            Route::Trial(trial),
            Route::Again(trial),
            Route::TriesResult(trial),
            Route::Run(run),
            Route::Groups(run),
            Route::Result(run),
            Route::Report(run),
            Route::Report(trial),
            Route::Show(run),
            Route::Files,
            Route::TakeIn,
            Route::People,
            Route::Storage,
            Route::Evening,
            Route::Tables,
            Route::Disagreements,
            Route::Knowledge(None),
            Route::Knowledge(Some(Page::Lots)),
            Route::Words(None),
            Route::Words(Some(Term::Blind)),
            Route::Start,
        ]
    }

    proptest! {
        #[test]
        fn every_address_leads_back_to_its_screen(
            seed: [u8; 32],
            word in "[a-z][a-z0-9]{0,12}(-[a-z0-9]{1,6})?".prop_filter("means a new job", |word| word != NEW_JOB),
            key in "[a-z0-9_.-]{1,8}(/[a-z0-9_.-]{1,8}){0,3}",
        ) {
            let routes = every(seed, &word, &key);
            let kinds: HashSet<_> = routes.iter().map(std::mem::discriminant).collect();
            prop_assert_eq!(kinds.len(), Route::COUNT, "a kind of screen is not among them");
            let addresses: HashSet<String> = routes.iter().map(Route::href).collect();
            prop_assert_eq!(addresses.len(), routes.len(), "two screens share an address");
            for route in routes {
                prop_assert_eq!(&Route::parse(&route.href()), &route);
                // Due holds no form.
                let of_form = Some(route.clone()).filter(|route| *route != Route::Due);
                prop_assert_eq!(Route::parse_key(&format!("word:of-the-form {route}")), of_form);
                let room = route.room();
                prop_assert_eq!(room.route().room(), room);
            }
        }

        #[test]
        fn anything_else_is_due(text in "\\PC{0,40}") {
            let route = Route::parse(&text);
            prop_assert_eq!(Route::parse(&route.href()), route);
        }
    }

    #[test]
    fn an_address_of_something_else_is_due_and_no_form_leads_to_it() {
        let mut ids = Ids::new([7; 32]);
        let (place, bulb, shoot) = (ids.draw(Noun::Place), ids.draw(Noun::Bulb), ids.draw(Noun::Shoot));
        for wrong in [
            format!("/place/{bulb}"),
            format!("/bulb/{place}"),
            format!("/bulb/{bulb}/call/{place}"),
            format!("/bulb/{bulb}/call"),
            format!("/run/{place}"),
            format!("/trials/plan/{place}"),
            format!("/due/job/{bulb}/water"),
            format!("/care/{bulb}/{shoot}"),
            format!("/place/{place}/walk/on"),
            "/record/abc".to_owned(),
            "/place/pl_".to_owned(),
            "/nowhere".to_owned(),
        ] {
            assert_eq!(Route::parse(&wrong), Route::Due, "{wrong}");
            assert_eq!(Route::parse_key(&format!("form {wrong}")), None, "{wrong}");
        }
        assert_eq!(Route::parse(""), Route::Due);
        assert_eq!(Route::parse_key("no-address"), None);
        assert_eq!(Route::parse("#//places//"), Route::Places);
    }
}
