//! What was entered by mistake: taken out of the nursery again, whole, or given another lot, many at a time.

use std::collections::BTreeSet;

use super::{LotChoice, Moment, bulbs::new_lot};
use crate::{
    error::{Error, Field, Result},
    ledger::{
        Ledger,
        body::{Body, BulbBody, PlaceBody, TakeBack},
        entry::{Draft, Entry},
        id::{EntryId, Id, Noun},
    },
    limits,
    nursery::State,
    refusal::{BulbRefusal, Missing},
};

/// Entries that one record may replace beside naming [`limits::ABOUT`] subjects, so that its line stays within
/// [`limits::LINE_BYTES`]: an entry's id takes 56 bytes, a subject's 32.
const REPLACED_AT_ONCE: usize = 200;

/// What else is recorded of bulbs and would no longer be seen with them gone, beside what was entered with them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Goes {
    /// How many bulbs would be gone.
    pub n_bulbs: usize,
    /// Looks at them.
    pub n_looks: usize,
    /// Acts on them.
    pub n_acts: usize,
    /// Anything else: measures, notes, photos, names given later.
    pub n_others: usize,
}

/// What goes with these bulbs when they are taken out.
pub fn goes_with(ledger: &Ledger, state: &State, bulbs: &[Id]) -> Goes {
    let known: BTreeSet<Id> = bulbs.iter().map(|id| state.canonical(*id)).collect();
    let mut goes = Goes::default();
    let mut told: BTreeSet<EntryId> = BTreeSet::new();
    for bulb in known.iter().filter_map(|id| state.bulb(id)) {
        goes.n_bulbs += 1;
        let standing = bulb.in_force(ledger);
        let with: Vec<Id> =
            bulb.ids().iter().filter_map(|id| entered(ledger, *id).first().map(|e| e.envelope.form)).collect();
        let later = standing.into_iter().filter(|entry| !with.contains(&entry.envelope.form) && told.insert(entry.id));
        for entry in later {
            match &entry.body {
                Body::Look(_) | Body::Sweep(_) => goes.n_looks += 1,
                Body::Act(..) => goes.n_acts += 1,
                Body::Bulb(_) | Body::Shown(_) => {}
                _ => goes.n_others += 1,
            }
        }
    }
    goes
}

/// The bulbs of an entry that would be gone if it were taken back: nothing else says any more that they are bulbs.
pub fn gone_without<'a>(ledger: &'a Ledger, state: &'a State, entry: &'a Entry) -> impl Iterator<Item = Id> + 'a {
    let about = entry.envelope.about.iter().copied();
    let is_entering = matches!(entry.body, Body::Bulb(_));
    about.filter(move |id| {
        is_entering
            && ledger.is_in_force(entry, *id)
            && entry.envelope.supersedes.is_empty()
            && state.bulb(id).is_some_and(|bulb| {
                let mut heads = bulb.ids().into_iter().flat_map(|id| ledger.heads(id, "bulb", ""));
                heads.all(|head| head.id == entry.id)
            })
    })
}

/// Refuses to take out a bulb that a try holds: the try would count one that is not there.
pub(super) fn may_go(state: &State, bulb: Id) -> Result<()> {
    let Some(known) = state.bulb(&bulb) else {
        return Ok(());
    };
    let Some(run) = state.runs_of(known).first().copied() else {
        return Ok(());
    };
    let body = state.runs.get(&run).and_then(|run| run.body.shown());
    let question = body.map_or("", |body| state.name_of(body.trial));
    Err(Error::new(BulbRefusal::InTry(known.label().to_owned(), question.to_owned())))
}

/// Takes bulbs, lots or places out that were entered by mistake.
pub(super) fn remove(ledger: &Ledger, state: &State, moment: &Moment, subjects: &[Id]) -> Result<Vec<Draft>> {
    let mut about: Vec<Id> = Vec::new();
    let mut drafts = Vec::new();
    for subject in subjects {
        if subject.is(Noun::Bulb) {
            may_go(state, *subject)?;
            about.extend(state.register_of(*subject, "bulb"));
        } else if subject.is(Noun::Lot) {
            let of = |lot: Option<&Id>| lot == Some(subject);
            let n = state.bulbs.values().filter(|bulb| of(bulb.lot.shown()));
            empty(n.count(), BulbRefusal::OfThisLot)?;
            about.push(*subject);
        } else if subject.is(Noun::Place) {
            let n = state.bulbs_in(*subject).len();
            empty(n, BulbRefusal::StandHere)?;
            match kept_place(ledger, state, *subject) {
                Some(body) => {
                    let mut draft = Draft::new(vec![*subject], moment.now.clone(), Body::Place(body));
                    draft.supersedes = State::to_replace(ledger, *subject, "place", "");
                    drafts.push(draft);
                }
                None => about.push(*subject),
            }
        } else {
            return Err(Error::new(BulbRefusal::NotTakenOut));
        }
    }
    let entering = |id: &Id| entered(ledger, *id).iter().map(|e| e.id).collect();
    drafts.extend(in_lines(&about, entering).map(|(part, replaced)| {
        let body = Body::TakeBack(TakeBack { why: None });
        let mut draft = Draft::new(part, moment.now.clone(), body);
        draft.supersedes = replaced;
        draft
    }));
    super::some(drafts)
}

fn empty(n: usize, why: fn(usize) -> BulbRefusal) -> Result<()> {
    if n == 0 { Ok(()) } else { Err(Error::new(why(n))) }
}

/// A place that records speak of keeps its name for them, and is no longer used.
fn kept_place(ledger: &Ledger, state: &State, place: Id) -> Option<PlaceBody> {
    let stood = state.bulbs.values().any(|bulb| bulb.places.iter().any(|(_, known)| *known == place));
    let told = ledger.in_force(place).iter().any(|entry| !matches!(entry.body, Body::Place(_) | Body::BenchOrder(_)));
    let body = state.places.get(&place)?.body.shown()?;
    (stood || told).then(|| PlaceBody { given_up: true, ..body.clone() })
}

/// Every entry that says what a subject is, replaced ones too: taking back the last alone would let an earlier one
/// stand again.
fn entered(ledger: &Ledger, subject: Id) -> Vec<&std::sync::Arc<Entry>> {
    let mut entries = ledger.history(subject);
    entries.retain(|entry| matches!(entry.body, Body::Bulb(_) | Body::Lot(_) | Body::Place(_) | Body::Container(_)));
    entries
}

/// Gives bulbs another lot, known or new: one record for as many as fit.
pub(super) fn move_to_lot(
    ledger: &Ledger,
    state: &State,
    moment: &mut Moment,
    bulbs: &[Id],
    lot: &LotChoice,
) -> Result<Vec<Draft>> {
    let (lot, made) = new_lot(lot, state, moment)?;
    let other = |id: &&Id| {
        let known = state.bulb(id);
        known.is_some_and(|bulb| bulb.lot.settled() != Some(&lot))
    };
    let about: Vec<Id> = bulbs.iter().filter(other).flat_map(|id| state.register_of(*id, "bulb")).collect();
    if about.is_empty() {
        return Err(Error::new(Missing::BulbOfAnotherLot).at(Field::Bulbs));
    }
    let heads = |id: &Id| State::to_replace(ledger, *id, "bulb", "");
    let moved = in_lines(&about, heads).map(|(part, replaced)| {
        let body = Body::Bulb(BulbBody { lot });
        let mut draft = Draft::new(part, moment.now.clone(), body);
        draft.supersedes = replaced;
        draft
    });
    Ok(made.into_iter().chain(moved).collect())
}

/// Subjects, each once, in parts that one record holds together with what it replaces for them.
fn in_lines(about: &[Id], replaced: impl Fn(&Id) -> Vec<EntryId>) -> impl Iterator<Item = (Vec<Id>, Vec<EntryId>)> {
    let mut parts: Vec<(Vec<Id>, Vec<EntryId>)> = Vec::new();
    let mut known = BTreeSet::new();
    for id in about.iter().filter(|id| known.insert(**id)) {
        let mine = replaced(id);
        let fits = |(subjects, entries): &&mut (Vec<Id>, Vec<EntryId>)| {
            let more = mine.iter().filter(|id| !entries.contains(id)).count();
            subjects.len() < limits::ABOUT.max as usize && entries.len() + more <= REPLACED_AT_ONCE
        };
        match parts.last_mut().filter(fits) {
            Some((subjects, entries)) => {
                subjects.push(*id);
                entries.extend(mine);
                entries.sort_unstable();
                entries.dedup();
            }
            None => parts.push((vec![*id], mine)),
        }
    }
    parts.into_iter()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Refusal;
    use crate::{
        calendar::Happened,
        ledger::{body::LotBody, id::Ids},
        record::{Command, record},
        testing::{World, day, id},
    };

    const BENCH: &str = "0 mia place pl_1 Bench-2
        0 mia place pl_2 Cellar
        0 mia lot lo_1 Red
        0 mia lot lo_2 Candy
        0 mia bulb b_1,b_2,b_3 lo_1 in=pl_1 size=105
        0 mia own b_1 one
        0 mia own b_2 two
        0 mia own b_3 three";

    fn drafts(world: &World, command: Command) -> Result<Vec<Draft>> {
        let mut moment = Moment { now: Happened::on(day(20)), ids: Ids::new([world.ledger.len() as u8; 32]) };
        record(command, &world.ledger, &world.state(), &mut moment)
    }

    fn remove(subjects: &[&str]) -> Command {
        let subjects = subjects.iter().map(|text| id(text)).collect();
        Command::Remove { subjects }
    }

    fn move_to(bulbs: &[&str], lot: LotChoice) -> Command {
        let bulbs = bulbs.iter().map(|text| id(text)).collect();
        Command::MoveToLot { bulbs, lot }
    }

    fn done(mut world: World, command: Command) -> World {
        let drafts = drafts(&world, command).unwrap();
        world.save("mia", drafts);
        world
    }

    fn here(world: &World, place: &str) -> Vec<Id> {
        let state = world.state();
        let bulbs = state.bulbs_in(id(place));
        bulbs.iter().map(|bulb| bulb.id).collect()
    }

    #[test]
    fn bulbs_taken_out_are_gone_whatever_was_recorded_of_them_and_come_back_with_it() {
        let world = World::of(BENCH).and(
            "5 mia look b_1 clear
             6 mia watered b_1,b_2
             7 ben own b_1 uno",
        );
        let goes = goes_with(&world.ledger, &world.state(), &[id("b_1"), id("b_2")]);
        // Here each line is saved by itself, so that place, size and names count as recorded later.
        let expected = Goes { n_bulbs: 2, n_looks: 1, n_acts: 2, n_others: 4 };
        assert_eq!(goes, expected);
        let drafts = drafts(&world, remove(&["b_1", "b_2"])).unwrap();
        assert_eq!(drafts.len(), 1);
        let mut world = world;
        let saved = world.save("mia", drafts);
        let state = world.state();
        assert_eq!(here(&world, "pl_1"), [id("b_3")]);
        assert!(state.find("one").is_empty() && state.bulb(&id("b_1")).is_none());
        assert_eq!(state.place_row(id("pl_1")).map(|row| row.n_bulbs), Some(1));
        // Not even a disagreement about what it was called is left.
        assert!(state.disagreements.is_empty());
        let entries = saved;
        let world = done(world, Command::TakeBack { entries, why: None });
        assert_eq!(here(&world, "pl_1").len(), 3);
        assert!(world.state().bulb(&id("b_1")).unwrap().last_look().is_some());
    }

    #[test]
    fn a_bulb_whose_entry_is_taken_back_leaves_no_ghost() {
        let world = World::of(BENCH);
        let state = world.state();
        let entering = world
            .ledger
            .in_force(id("b_1"))
            .into_iter()
            .find(|entry| matches!(entry.body, Body::Bulb(_)))
            .unwrap()
            .clone();
        let gone: Vec<Id> = gone_without(&world.ledger, &state, &entering).collect();
        assert_eq!(gone, [id("b_1"), id("b_2"), id("b_3")]);
        let entries = vec![entering.id];
        let world = done(world, Command::TakeBack { entries, why: None });
        assert!(world.state().bulbs.is_empty());
        assert_eq!(world.state().place_row(id("pl_1")).map(|row| row.n_bulbs), Some(0));
    }

    #[test]
    fn taken_out_after_a_move_to_another_lot_it_does_not_come_back_in_the_first() {
        let world = done(World::of(BENCH), move_to(&["b_1"], LotChoice::Known(id("lo_2"))));
        let world = done(world, remove(&["b_1"]));
        // In the order in which they were typed.
        assert_eq!(here(&world, "pl_1"), [id("b_2"), id("b_3")]);
    }

    #[test]
    fn a_bulb_of_a_try_stays() {
        let world = World::of(BENCH).and(
            "1 mia question tr_1 gr_a,gr_b
             1 mia run ru_1 tr_1 2
             1 mia allot ru_1 hand gr_a=b_1 gr_b=b_2",
        );
        let said = drafts(&world, remove(&["b_1"])).unwrap_err().refusal;
        assert!(matches!(said, Refusal::Bulb(BulbRefusal::InTry(..))), "{said:?}");
        let entries = world.ledger.in_force(id("b_2"));
        let entries = entries.iter().filter(|e| matches!(e.body, Body::Bulb(_)));
        let entries: Vec<EntryId> = entries.map(|entry| entry.id).collect();
        assert!(drafts(&world, Command::TakeBack { entries, why: None }).is_err());
        assert!(drafts(&world, remove(&["b_3"])).is_ok());
    }

    #[test]
    fn many_bulbs_go_to_a_new_lot_in_two_records_and_the_rest_stays() {
        let body = LotBody {
            name: "Snow".to_owned(),
            cultivar: "Snow".to_owned(),
            supplier: String::new(),
            grade: String::new(),
            received: None,
            apart_until: None,
        };
        let command = move_to(&["b_1", "b_3"], LotChoice::New(body));
        let drafts = drafts(&World::of(BENCH), command).unwrap();
        assert_eq!(drafts.len(), 2);
        let mut world = World::of(BENCH);
        let saved = world.save("mia", drafts);
        let state = world.state();
        let lot = |bulb: &str| state.bulb(&id(bulb)).unwrap().lot.settled().copied();
        assert_eq!(lot("b_1"), lot("b_3"));
        assert_eq!(state.name_of(lot("b_1").unwrap()), "Snow");
        assert_eq!(lot("b_2"), Some(id("lo_1")));
        let entries = saved;
        let world = done(world, Command::TakeBack { entries, why: None });
        let lot = world.state().bulb(&id("b_1")).unwrap().lot.settled().copied();
        assert_eq!((lot, world.state().lots.len()), (Some(id("lo_1")), 2));
    }

    #[test]
    fn bulbs_entered_one_by_one_move_in_records_that_fit_a_line() {
        let mut text = String::from("0 mia lot lo_1 Red\n0 mia lot lo_2 Candy\n");
        for n in 0..450 {
            text.push_str(&format!("0 mia bulb b_{n} lo_1\n"));
        }
        let bulbs: Vec<Id> = (0..450).map(|n| id(&format!("b_{n}"))).collect();
        let lot = LotChoice::Known(id("lo_2"));
        let mut world = World::of(&text);
        let moved = drafts(&world, Command::MoveToLot { bulbs, lot }).unwrap();
        assert_eq!(moved.len(), 3);
        // Sealing refuses a line that is too long.
        world.save("mia", moved);
        let state = world.state();
        let candy = |bulb: &&crate::nursery::Bulb| bulb.lot.settled() == Some(&id("lo_2"));
        assert_eq!(state.bulbs.values().filter(candy).count(), 450);
        let none = move_to(&["b_1"], LotChoice::Known(id("lo_2")));
        assert!(drafts(&world, none).is_err());
    }

    #[test]
    fn a_lot_or_a_place_goes_when_nothing_is_in_it() {
        let world = World::of(BENCH);
        for (subject, why) in [("lo_1", BulbRefusal::OfThisLot(3)), ("pl_1", BulbRefusal::StandHere(3))] {
            assert_eq!(drafts(&world, remove(&[subject])), Err(Error::new(why)));
        }
        let world = done(world, remove(&["lo_2"]));
        let world = done(world, remove(&["pl_2"]));
        let state = world.state();
        assert!(!state.lots.contains_key(&id("lo_2")));
        assert!(!state.places.contains_key(&id("pl_2")));
        // Where bulbs stood, the name stays with their records.
        let world = done(world.and("8 mia place pl_3 Shelf\n9 mia moved b_1,b_2,b_3 place=pl_3"), remove(&["pl_1"]));
        let state = world.state();
        assert_eq!(state.name_of(id("pl_1")), "Bench-2");
        let rows: Vec<Id> = state.place_rows().iter().map(|row| row.id).collect();
        assert_eq!(rows, [id("pl_3")]);
    }
}
