//! From a plan to what is recorded of it, and to its jobs.

use super::{INSPECT_DAYS, LOOK_DAYS, Now, Plan, Stands, Wish, stands};
use crate::{
    calendar::Date,
    care::usual::plain,
    error::{Error, Result},
    forecast::{Data, Wanted},
    ledger::{
        body::{ActKind, Batch, CareJob, Doing, During, Forcing, GoalStage, JobFrom, RestWay},
        id::Id,
    },
    nursery::State,
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
        return Err(Error::new(
            "tick the bulbs that are to be started; a number alone makes nothing due",
        )
        .at("at-hand"));
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
        treatment: wish
            .treatment
            .and_then(|at| data.treatments.get(at as usize))
            .cloned()
            .unwrap_or_default(),
        lot: wish.lot.and_then(|at| data.lots.get(at as usize).copied()),
        batches: batches.collect(),
        given_up: false,
    })
}

/// The wish behind a forcing that was saved: what it said, for the bulbs of it that are still here, as they stand now.
fn wish_of(forcing: &Forcing, data: &Data, n_here: usize, now: Now) -> Wish {
    let treatment = data
        .treatments
        .iter()
        .position(|of| *of == forcing.treatment);
    Wish {
        window: crate::forecast::Window {
            from: forcing.from,
            to: forcing.to,
        },
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
pub fn wish_now(state: &State, forcing: &Forcing, data: &Data) -> (Wish, Vec<Id>, Stands) {
    let bulbs = forcing.batches.iter().flat_map(|batch| &batch.bulbs);
    let is_here = |id: &&Id| state.bulb(id).is_some_and(|bulb| bulb.is_here());
    let here: Vec<Id> = bulbs.filter(is_here).copied().collect();
    let stands = stands(state, &here, data.today);
    (wish_of(forcing, data, here.len(), stands.now), here, stands)
}

/// The jobs of a forcing, each with its slot: days of the calendar, so that they move with the window.
pub fn jobs(forcing: &Forcing) -> Vec<(String, CareJob)> {
    let mut all = Vec::new();
    for (at, batch) in forcing.batches.iter().enumerate() {
        let mut put = |name: &str, job: Option<CareJob>| {
            all.extend(job.map(|job| (format!("{}-{name}", at + 1), job)));
        };
        let stop = batch.stop_water.map(|on| CareJob {
            during: During::Growth,
            ..act(ActKind::WaterStopped, on)
        });
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
    }
    all
}

fn act(act: ActKind, on: Date) -> CareJob {
    CareJob {
        act: Some(act),
        from: JobFrom::Date,
        date: Some(on),
        ..plain()
    }
}
