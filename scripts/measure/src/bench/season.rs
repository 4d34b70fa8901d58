//! Generated ledgers of any size: a nursery that has walked its benches for some years. The same number of entries
//! always gives the same bytes.

use anyhow::{Result, anyhow};
use bloomdue_core::{
    calendar::{Date, Happened},
    handover::json::compose,
    ledger::{
        Ledger,
        body::{
            Act, ActKind, Body, BulbBody, Count, Counted, Leaves, Look, LotBody, Measure, Measured, Named, Neck, Note,
            NurseryBody, Person, PlaceBody, PlaceKind, ShootKind, ShootSeen, Side, Stage, Way,
        },
        clock::Clock,
        entry::{Entry, Envelope},
        id::{Id, Ids, Noun},
    },
};
use std::sync::Arc;

/// The first morning, 2023-01-02 08:00 UTC, in ms since 1970.
const START_MS: u64 = 1_672_646_400_000;

/// Days over which the records are spread, so that the last lies before any day this is measured on.
const N_DAYS: u64 = 1200;

/// A nursery being written.
struct Season {
    ledger: Ledger,
    ids: Ids,
    clock: Clock,
    n_wanted: u64,
    device: Id,
    who: Id,
    n_written: u64,
    state: u64,
}

/// A file with this many entries of the nursery that `ledger` names.
///
/// # Errors
///
/// When core refuses one, which would be a slip in here.
pub(crate) fn file(ledger: Id, n_entries: u64) -> Result<String> {
    let mut ids = Ids::new([9; 32]);
    let mut season = Season {
        ledger: Ledger::new(ledger),
        device: ids.draw(Noun::Device),
        who: ids.draw(Noun::Person),
        ids,
        clock: Clock::default(),
        n_wanted: n_entries,
        n_written: 0,
        state: 1,
    };
    let said = |why: bloomdue_core::error::Error| anyhow!("{why}");
    season.write_all().map_err(said)?;
    Ok(compose(&season.ledger, "Bench", "2026-06-01", []))
}

impl Season {
    fn write_all(&mut self) -> bloomdue_core::error::Result<()> {
        let who = self.who;
        self.write(
            vec![self.ledger.id()],
            "",
            Body::Nursery(NurseryBody { name: "Bench".into(), latitude_decideg: None }),
        )?;
        let person = Person { initials: "BN".into(), name: String::new() };
        self.write(vec![who], "", Body::Person(person))?;
        let places: Vec<Id> = (0..10).map(|_| self.ids.draw(Noun::Place)).collect();
        for (n, place) in places.iter().enumerate() {
            let body = PlaceBody {
                name: format!("Bench {}", n + 1),
                kind: PlaceKind::Bench,
                covers: Vec::new(),
                given_up: false,
            };
            self.write(vec![*place], "", Body::Place(body))?;
        }
        let lot = self.ids.draw(Noun::Lot);
        let body = LotBody {
            name: "Crate 1".into(),
            cultivar: "White".into(),
            supplier: String::new(),
            grade: "26/28".into(),
            received: None,
            apart_until: None,
        };
        self.write(vec![lot], "", Body::Lot(body))?;
        let n_bulbs = (self.n_wanted / 100).clamp(10, 1000) as usize;
        let bulbs: Vec<Id> = (0..n_bulbs).map(|_| self.ids.draw(Noun::Bulb)).collect();
        for (n, bulb) in bulbs.iter().enumerate() {
            self.write(vec![*bulb], "", Body::Bulb(BulbBody { lot }))?;
            let name = format!("{}", n + 1);
            self.write(vec![*bulb], "own", Body::BulbName(Named { name }))?;
        }
        for (bulbs, place) in bulbs.chunks(n_bulbs.div_ceil(10)).zip(&places) {
            let act = Act { place: Some(*place), ..Act::default() };
            self.write(bulbs.to_vec(), "", Body::Act(ActKind::Moved, act))?;
        }
        while self.n_written < self.n_wanted {
            self.write_any(&bulbs, &places)?;
        }
        Ok(())
    }

    /// A number below `n`, by Knuth's linear congruential generator MMIX; its high bits are good enough here.
    fn below(&mut self, n: usize) -> usize {
        self.state = self.state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.state >> 33) as usize) % n
    }

    fn write_any(&mut self, bulbs: &[Id], places: &[Id]) -> bloomdue_core::error::Result<()> {
        let bulb = bulbs[self.below(bulbs.len())];
        let body = match self.below(20) {
            0..14 => self.look(places),
            14..16 => Body::Measure(Measure {
                what: Measured::Height,
                mm: Some(self.below(600) as i64),
                mm_to: None,
                g: None,
                at: None,
            }),
            16 => Body::Count(Count { what: Counted::Leaves, n: self.below(8) as i64 }),
            17 => Body::Note(Note { text: "Leaves a little yellow at the tips.".into() }),
            _ => {
                let from = self.below(bulbs.len());
                let to = (from + 20 + self.below(40)).min(bulbs.len());
                let body = Body::Act(ActKind::Watered, Act::default());
                return self.write(bulbs[from..to].to_vec(), "", body);
            }
        };
        self.write(vec![bulb], "", body)
    }

    fn look(&mut self, places: &[Id]) -> Body {
        let shoots = (self.below(4) == 0).then(|| ShootSeen {
            id: self.ids.draw(Noun::Shoot),
            ordinal: 1,
            side: Side::NotSaid,
            kind: ShootKind::Unknown,
            stage: Stage::Shoot,
            height_mm: None,
        });
        Body::Look(Look {
            neck: if shoots.is_some() { Neck::Shoots } else { Neck::Clear },
            leaves: Leaves::Same,
            n_leaves: None,
            shoots: shoots.into_iter().collect(),
            way: Way::Each,
            walk: Some(places[self.below(places.len())]),
        })
    }

    fn write(&mut self, about: Vec<Id>, slot: &str, body: Body) -> bloomdue_core::error::Result<()> {
        let day = self.n_written * N_DAYS / self.n_wanted.max(1);
        let start = Date::new(2023, 1, 2)?;
        let minute = 480 + (self.n_written % 480) as u16;
        self.n_written += 1;
        let now_ms = START_MS + day * 86_400_000 + u64::from(minute - 480) * 60_000;
        let envelope = Envelope {
            about,
            device: self.device,
            form: self.ids.draw(Noun::Form),
            happened: Happened::at(start.add_days(day as i64)?, minute, 60)?,
            hlc: self.clock.tick(now_ms),
            kind: body.kind().to_owned(),
            ledger: self.ledger.id(),
            line: self.n_written,
            slot: slot.to_owned(),
            supersedes: Vec::new(),
            v: 1,
            who: self.who,
        };
        self.ledger.insert(Arc::new(Entry::seal(envelope, body)?));
        Ok(())
    }
}
