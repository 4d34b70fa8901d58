//! Any record in words.

use bloomdue_core::calendar::Date;
use bloomdue_core::ledger::body::{Act, Body, LightOf, Measured, ShootKind};
use bloomdue_core::ledger::entry::Entry;
use bloomdue_core::ledger::id::Noun;
use bloomdue_core::nursery::State;
use bloomdue_core::plan::spend::log::is_of_spending;

use crate::acts::{acted, look};
use crate::common::plural;
use crate::dates::date_short;
use crate::formats::{self, length};
use crate::{care, files, measure};

labels! {
    record = "Record";
    not_here = "This record is not here.";
    stands = "This record stands.";
    no_longer = "This record was put right or taken back; it is kept for reading.";
    replaces = "It replaces";
    replaced_by = "Replaced by";
    put_right = "Put right";
    take_back = "Take back";
    why = "Why, if wished";
    took_back = "Taken back";
    was_put_right = "Put right";
    day = "When it happened";
    text = "What it should say";
    value_g = "Weight, g";
    value_n = "How many";
    for_all = "For";
    put_look_right = "Put this look right";
    sweep_day =
        "Of a walk past all only the day can be put right. If a bulb showed something, look at it again for that day.";
}

/// What a record says, in a line.
pub fn said(body: &Body, state: &State) -> String {
    match body {
        Body::Act(kind, act) => {
            let more = act_more(act, state);
            if more.is_empty() { acted(*kind).to_owned() } else { format!("{}: {more}", acted(*kind)) }
        }
        Body::Look(seen) => format!("look: {}", look(seen)),
        Body::Sweep(sweep) => format!("walked past all in {}, nothing at any neck", state.name_of(sweep.place)),
        Body::Inspection(inspection) => {
            let mut found: Vec<&str> = inspection.findings.iter().map(|finding| care::finding(*finding)).collect();
            if found.is_empty() {
                found.push("nothing wrong");
            }
            let watch = if inspection.watch { ", to be watched" } else { "" };
            format!("inspected: {}{watch}{}", found.join(", "), after(inspection.note.as_deref()))
        }
        Body::Measure(measure) => {
            let value = match (measure.what, measure.mm, measure.mm_to, measure.g) {
                (Measured::Weight, _, _, Some(g)) => format!("{} g", formats::whole(g)),
                (_, Some(mm), Some(to), _) => format!("{} to {}", length(mm), length(to)),
                (_, Some(mm), None, _) => length(mm),
                _ => String::new(),
            };
            format!("{} {value}", care::measured(measure.what))
        }
        Body::Count(count) => format!("{}: {}", care::counted(count.what), count.n),
        Body::Light(light) => {
            let open =
                |value: Option<i64>| value.map(|n| format!(", {} in the open", formats::whole(n))).unwrap_or_default();
            let lamp = if light.of == Some(LightOf::Lamp) { ", under a lamp" } else { "" };
            match (light.ppfd_umol, light.lux, light.passes_permille) {
                (Some(ppfd), ..) => {
                    format!("light {} µmol per m² and second{}{lamp}", formats::whole(ppfd), open(light.open_ppfd_umol))
                }
                (None, Some(lux), _) => format!("light {} lux{}{lamp}", formats::whole(lux), open(light.open_lux)),
                (None, None, Some(permille)) => {
                    format!("shade by photos, {} % of the light comes through", formats::tenths_short(permille))
                }
                (None, None, None) => "light".to_owned(),
            }
        }
        Body::Climate(climate) => {
            let mut parts = Vec::new();
            if let Some(tenths) = climate.temperature_dc {
                parts.push(format!("{} {}", formats::temperature_read(tenths), formats::temperature_unit()));
            }
            let ends = [("lowest", climate.lowest_dc), ("highest", climate.highest_dc)];
            for (which, tenths) in ends.into_iter().filter_map(|(which, tenths)| Some((which, tenths?))) {
                parts.push(format!("{which} {} {}", formats::temperature_read(tenths), formats::temperature_unit()));
            }
            if let Some(percent) = climate.humidity_percent {
                parts.push(format!("{percent} % humidity"));
            }
            parts.join(", ")
        }
        Body::Photo(photo) => if photo.drawn { "drawing in place of a photo" } else { "photo" }.to_owned(),
        Body::Call(call) => format!("call: {}", crate::call::called(call.scape_permille)),
        Body::PhotoMarks(marks) => measure::said(marks),
        Body::Proof(proof) => match proof.kind {
            ShootKind::Scape => "it was a stalk".to_owned(),
            ShootKind::Leaf => "it was a leaf".to_owned(),
            ShootKind::Unknown => "still not known".to_owned(),
        },
        Body::Note(note) => note.text.clone(),
        Body::OffsetOf(link) => format!("offset of {}", state.name_of(link.to)),
        Body::SameAs(link) if link.to.is(Noun::Shoot) => "two shoots are one".to_owned(),
        Body::SameAs(link) => {
            let label = state.bulb(&link.to).map(|bulb| bulb.label_as(link.to));
            format!("the same bulb as {}", label.unwrap_or_default())
        }
        Body::NotSame(_) => "two shoots, not one".to_owned(),
        Body::SameAct(_) => "recorded twice: one act".to_owned(),
        Body::TwoActs(_) => "two acts, both happened".to_owned(),
        Body::Join(_) => "the same nursery, started twice".to_owned(),
        Body::Shown(shown) if is_of_spending(shown) => "advice, kept to be compared".to_owned(),
        Body::Shown(_) => "forecast, kept to be compared".to_owned(),
        Body::TakeBack(back) => format!("taken back{}", after(back.why.as_deref())),
        Body::Unknown => "needs a newer version of the program; kept as it is".to_owned(),
        register => format!("{}: {}", register.kind().replace('-', " "), files::value(register, state)),
    }
}

fn after(text: Option<&str>) -> String {
    text.map(|text| format!(": {text}")).unwrap_or_default()
}

/// What is typed for a length, with its unit.
pub fn value_length() -> String {
    format!("Length, {}", formats::length_asked())
}

fn act_more(act: &Act, state: &State) -> String {
    let mut parts = Vec::new();
    if let Some(place) = act.place {
        parts.push(format!("to {}", state.name_of(place)));
    }
    if let Some(container) = act.container {
        let position = act.position.map(|at| format!(", position {at}")).unwrap_or_default();
        parts.push(format!("in {}{position}", state.name_of(container)));
    }
    parts.extend(act.how.map(|how| care::how(how).to_owned()));
    parts.extend(act.stage.map(|stage| crate::acts::stage(stage).to_owned()));
    if act.fit {
        parts.push(care::fit().to_owned());
    }
    parts.extend(act.whom.as_ref().map(|whom| format!("for {whom}")));
    for text in [&act.with, &act.condition, &act.cause, &act.note] {
        parts.extend(text.clone().filter(|text| !text.is_empty()));
    }
    parts.extend(act.until.map(|day| format!("until {day}")));
    parts.join(", ")
}

/// When it happened, by whom, and whether it stands.
pub fn under(entry: &Entry, state: &State, today: Date, stands: bool) -> String {
    let mut parts = vec![date_short(entry.envelope.happened.date(), today)];
    let who = state.name_of(entry.envelope.who);
    if !who.is_empty() {
        parts.push(format!("by {who}"));
    }
    if !stands {
        parts.push("put right or taken back".to_owned());
    }
    parts.join(" · ")
}

pub fn happened(entry: &Entry) -> String {
    format!("Happened {}", entry.envelope.happened.as_str().replace('T', " "))
}

/// When it was written down, by the device's own clock.
pub fn written(date: &str) -> String {
    format!("Written down {date}")
}

pub fn by(name: &str) -> String {
    format!("By {name}")
}

pub fn about(names: &[String]) -> String {
    let shown: Vec<&str> = names.iter().take(12).map(String::as_str).collect();
    let rest = names.len().saturating_sub(12);
    let more = if rest > 0 { format!(" and {}", plural(rest, "more", "more")) } else { String::new() };
    format!("About {}{more}", shown.join(", "))
}

pub fn all_of(n: usize) -> String {
    format!("all {n}")
}
