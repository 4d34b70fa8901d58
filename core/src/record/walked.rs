//! What one tap in a walk records: a look, and what goes with it, saved and undone as one.

use super::Command;
use crate::{
    calendar::Date,
    ledger::{
        body::{Act, ActKind, Body, Finding, Inspection, Look},
        id::{Id, Ids},
    },
    nursery::{
        Bulb,
        walk::{Answer, Marked, Mishap, SheetEnd, before, boxes, finding_of, look_after, look_for},
    },
};

/// What an answer at a bulb records. One found soft or mouldy is to be watched from then on.
pub fn answered(answer: Answer, bulb: &Bulb, walk: Option<Id>, ids: &mut Ids) -> Command {
    let look = Command::Look { looks: vec![(bulb.id, look_for(answer, bulb, walk, ids))], on: None };
    let Some(finding) = finding_of(answer) else {
        return look;
    };
    let inspection = Inspection { findings: vec![finding], watch: finding != Finding::Firm, ..Inspection::default() };
    let found = Command::Observe { about: vec![bulb.id], body: Body::Inspection(inspection), on: None };
    Command::Together(vec![look, found])
}

/// What befell a bulb, with the look that shows what is left.
pub fn befell(mishap: Mishap, bulb: &Bulb, walk: Option<Id>) -> Command {
    let look = Command::Look { looks: vec![(bulb.id, look_after(mishap, bulb, walk))], on: None };
    let act = Command::Do { kind: mishap.act(), act: Act::default(), about: vec![bulb.id], on: None };
    Command::Together(vec![look, act])
}

/// *Fit to sell*: the mark, and the look by which it was found so, all else as before. A bulb that the walk no longer asks
/// for has had its look.
pub fn marked_fit(bulb: &Bulb, walk: Option<Id>, is_asked: bool) -> Command {
    let look = Command::Look { looks: vec![(bulb.id, before(bulb.cycle(), walk))], on: None };
    let mark = Command::Do { kind: ActKind::FitToSell, act: Act::default(), about: vec![bulb.id], on: None };
    Command::Together(is_asked.then_some(look).into_iter().chain([mark]).collect())
}

/// How many bulbs of a sheet something is said of.
pub fn n_typed(sheet: &[Bulb], marked: impl Fn(Id) -> Option<Marked>) -> usize {
    let fits = |bulb: &&Bulb| marked(bulb.id).is_some_and(|marked| boxes(bulb).contains(&marked));
    sheet.iter().filter(fits).count()
}

/// A walk sheet typed in: looks, and what ended, all of its day. A box that does not fit the bulb as it was on that day was
/// not chosen for it. With it the number of bulbs that something is said of.
pub fn typed_in(
    sheet: &[Bulb],
    marked: impl Fn(Id) -> Option<Marked>,
    place: Id,
    on: Date,
    ids: &mut Ids,
) -> (Command, usize) {
    let mut looks: Vec<(Id, Look)> = Vec::new();
    let mut ended: Vec<(ActKind, Vec<Id>)> = Vec::new();
    let mut n = 0;
    for bulb in sheet {
        let Some(marked) = marked(bulb.id).filter(|marked| boxes(bulb).contains(marked)) else {
            continue;
        };
        n += 1;
        let end = match marked {
            Marked::Answer(answer) => {
                looks.push((bulb.id, look_for(answer, bulb, Some(place), ids)));
                continue;
            }
            Marked::End(SheetEnd::Blind) => {
                looks.push((bulb.id, look_after(Mishap::Blind, bulb, Some(place))));
                Mishap::Blind.act()
            }
            Marked::End(SheetEnd::Died) => ActKind::Died,
            Marked::End(SheetEnd::Missing) => ActKind::Missing,
        };
        match ended.iter_mut().find(|(kind, _)| *kind == end) {
            Some((_, about)) => about.push(bulb.id),
            None => ended.push((end, vec![bulb.id])),
        }
    }
    // A sheet of nothing is refused as looks at no bulb are.
    let looks = (!looks.is_empty() || ended.is_empty()).then_some(Command::Look { looks, on: Some(on) });
    let acts = ended.into_iter().map(|(kind, about)| Command::Do { kind, act: Act::default(), about, on: Some(on) });
    (Command::Together(looks.into_iter().chain(acts).collect()), n)
}
