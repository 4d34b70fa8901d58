//! From a plan to what is recorded of it, and to its jobs.

use std::collections::BTreeSet;

use super::{INSPECT_DAYS, LOOK_DAYS, Now, Plan, StartingPoint, WITHER_DAYS, Wish, starting_point};
use crate::{
    calendar::Date,
    care::usual_jobs::plain,
    error::{Error, Field, Result},
    forecast::{Data, Wanted},
    ledger::{
        body::{ActKind, Batch, CareJob, Doing, During, Forcing, GoalStage, JobFrom, RestWay},
        id::Id,
    },
    nursery::State,
    refusal::Missing,
};

/// What is recorded of a plan. `bulbs` are those at hand, the ones to take first at the head.
///
/// # Errors
/// When fewer bulbs are named than are to be started.
pub fn forcing(
    wish: &Wish,
    plan: &Plan,
    data: &Data,
    name: &str,
    way: Option<RestWay>,
    bulbs: &[Id],
) -> Result<Forcing> {
    if (bulbs.len() as u64) < u64::from(plan.to_start) {
        return Err(Error::new(Missing::StartedBulbs).at(Field::AtHand));
    }
    let mut left = bulbs;
    let batches = plan.lots.iter().filter(|lot| lot.n > 0).map(|lot| {
        let (own, rest) = left.split_at(lot.n as usize);
        left = rest;
        Batch {
            bulbs: own.to_vec(),
            stop_water: lot.stop_water,
            lay_to_rest: lot.lay_to_rest,
            rest_end: lot.pot_up,
            first_look: lot.first_look,
        }
    });
    Ok(Forcing {
        name: name.to_owned(),
        from: wish.window.from,
        to: wish.window.to,
        stage: match wish.stage {
            Wanted::FitToSell => GoalStage::FitToSell,
            Wanted::InFlower => GoalStage::FirstFlower,
        },
        wanted: wish.wanted,
        sure_permille: (wish.assurance * 1000.0).round() as u32,
        rest_weeks: wish.rest_weeks,
        way,
        treatment: wish.treatment.and_then(|at| data.treatments.get(at as usize)).cloned().unwrap_or_default(),
        lot: wish.lot.and_then(|at| data.lots.get(at as usize).copied()),
        batches: batches.collect(),
        given_up: false,
    })
}

/// The wish behind a forcing that was saved: what it said, for the bulbs of it that are still here, as they stand now.
fn wish_of(forcing: &Forcing, data: &Data, n_here: usize, now: Now) -> Wish {
    let treatment = data.treatments.iter().position(|of| *of == forcing.treatment);
    Wish {
        window: crate::forecast::Window { from: forcing.from, to: forcing.to },
        stage: match forcing.stage {
            GoalStage::FirstFlower => Wanted::InFlower,
            _ => Wanted::FitToSell,
        },
        wanted: forcing.wanted,
        assurance: f64::from(forcing.sure_permille) / 1000.0,
        at_hand: n_here as u32,
        now,
        rest_weeks: forcing.rest_weeks,
        treatment: treatment.map(|at| at as u32),
        lot: forcing.lot.and_then(|lot| {
            let at = data.lots.iter().position(|known| *known == lot);
            at.map(|at| at as u32)
        }),
        staggered: forcing.batches.len().max(1) as u32,
    }
}

/// The wish behind a forcing as its bulbs stand now, with those of them that are here and how they stand.
pub fn wish_now(state: &State, forcing: &Forcing, data: &Data) -> (Wish, Vec<Id>, StartingPoint) {
    let bulbs = forcing.batches.iter().flat_map(|batch| &batch.bulbs);
    let is_here = |id: &&Id| state.bulb(id).is_some_and(|bulb| bulb.is_here());
    let here: Vec<Id> = bulbs.filter(is_here).copied().collect();
    let stands = starting_point(state, &here, data.today);
    (wish_of(forcing, data, here.len(), stands.now), here, stands)
}

/// The plan with the days that were saved, when the wish and the bulbs are still those it was saved for; nothing when
/// they were changed. A saved plan keeps its days until it is saved anew, whatever is drawn meanwhile.
pub fn as_saved(plan: &Plan, wish: &Wish, forcing: &Forcing, bulbs: &[Id], data: &Data, state: &State) -> Option<Plan> {
    let (saved, here, _) = wish_now(state, forcing, data);
    // How the bulbs stand changes as the plan is carried out, and is no change of it.
    let as_typed = Wish { at_hand: saved.at_hand, now: saved.now, ..wish.clone() };
    let chosen: BTreeSet<Id> = bulbs.iter().copied().collect();
    if as_typed != saved || chosen != here.into_iter().collect() {
        return None;
    }
    let mut kept = plan.clone();
    let lots = forcing.batches.iter().enumerate();
    kept.lots = lots
        .filter_map(|(at, batch)| {
            let drawn = plan.lots.get(at).or(plan.lots.last())?;
            let by_days = drawn.pot_up.days_until(batch.rest_end);
            let moved = |day: Date| day.add_days(by_days).unwrap_or(day);
            let mut lot = drawn.clone();
            lot.n = batch.bulbs.len() as u32;
            lot.stop_water = batch.stop_water;
            lot.lay_to_rest = batch.lay_to_rest;
            lot.cut_back = batch.stop_water.and(batch.lay_to_rest);
            lot.inspect = inspections(batch.lay_to_rest, batch.rest_end, data.today);
            (lot.pot_up, lot.into_light) = (batch.rest_end, batch.rest_end);
            lot.first_look = batch.first_look;
            for (_, dates) in &mut lot.coming {
                (dates.p10, dates.p50, dates.p90) = (moved(dates.p10), moved(dates.p50), moved(dates.p90));
            }
            Some(lot)
        })
        .collect();
    kept.to_start = kept.lots.iter().map(|lot| lot.n).sum();
    Some(kept)
}

/// The days from today on which bulbs at rest are inspected.
fn inspections(laid: Option<Date>, rest_end: Date, today: Date) -> Vec<Date> {
    let nth = |n: i64| laid.and_then(|laid| laid.add_days(n * INSPECT_DAYS).ok());
    let days = (1..).map_while(nth).take_while(|on| *on < rest_end);
    days.filter(|on| *on >= today).collect()
}

/// The jobs of one group of a try that is to be brought on from `pot_up`, each with its slot: those of a plan with the
/// group's own weeks of rest. What cannot be in time any more begins today. Looks are those of the try itself.
pub fn jobs_of_group(pot_up: Date, now: Now, rest_weeks: u32, today: Date) -> Vec<(String, CareJob)> {
    let rest_days = i64::from(rest_weeks) * 7;
    let after = |day: Date, days: i64| day.add_days(days).unwrap_or(day);
    let (stop_water, lay_to_rest) = match now {
        Now::RestingSince(since) => (None, Some(since)),
        Now::InLeaf if rest_days == 0 => (None, None),
        Now::InLeaf => {
            let stop = after(pot_up, -rest_days - WITHER_DAYS).max(today);
            (Some(stop), Some(after(stop, WITHER_DAYS)))
        }
    };
    let rest_end = lay_to_rest.map_or(pot_up, |laid| after(laid, rest_days)).max(today);
    let batch = Batch { bulbs: Vec::new(), stop_water, lay_to_rest, rest_end, first_look: rest_end };
    let jobs = of_batch(&batch).into_iter();
    jobs.filter(|(_, job)| job.doing != Doing::Look).map(|(name, job)| (name.to_owned(), job)).collect()
}

/// The jobs of a forcing, each with its slot: days of the calendar, so that they move with the window.
pub fn jobs(forcing: &Forcing) -> Vec<(String, CareJob)> {
    let batches = forcing.batches.iter().enumerate();
    batches
        .flat_map(|(at, batch)| {
            let jobs = of_batch(batch).into_iter();
            jobs.map(move |(name, job)| (format!("{}-{name}", at + 1), job))
        })
        .collect()
}

fn of_batch(batch: &Batch) -> Vec<(&'static str, CareJob)> {
    let mut all = Vec::new();
    let mut put = |name: &'static str, job: Option<CareJob>| {
        all.extend(job.map(|job| (name, job)));
    };
    let stop = batch.stop_water.map(|on| CareJob { during: During::Growth, ..act(ActKind::WaterStopped, on) });
    put("stop-water", stop);
    // Where water is stopped for it, leaves are cut once they are dry; who rested before is as it is.
    let dried = batch.lay_to_rest.filter(|_| batch.stop_water.is_some());
    put("cut-back", dried.map(|on| act(ActKind::CutBack, on)));
    put("lay-to-rest", dried.map(|on| act(ActKind::LaidToRest, on)));
    let inspect = |lay: Date| lay.add_days(INSPECT_DAYS).ok();
    let inspect = batch.lay_to_rest.and_then(inspect);
    let inspect = inspect.filter(|on| *on < batch.rest_end);
    put(
        "inspect",
        inspect.map(|on| CareJob {
            doing: Doing::Inspect,
            act: None,
            every_days: Some(INSPECT_DAYS as u32),
            during: During::Rest,
            ..act(ActKind::LaidToRest, on)
        }),
    );
    put("pot", Some(act(ActKind::Potted, batch.rest_end)));
    put("light", Some(act(ActKind::BroughtToLight, batch.rest_end)));
    put(
        "look",
        Some(CareJob {
            doing: Doing::Look,
            act: None,
            every_days: Some(LOOK_DAYS as u32),
            tolerance_days: 1,
            during: During::Growth,
            ..act(ActKind::Potted, batch.first_look)
        }),
    );
    all
}

fn act(act: ActKind, on: Date) -> CareJob {
    CareJob { act: Some(act), from: JobFrom::Date, date: Some(on), ..plain() }
}
