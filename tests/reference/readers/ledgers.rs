//! Open data sets through ledger entries: every seed a bulb with its looks, every dish or plate a container.

use bloomdue_core::answers::{TrialAnswer, answers};
use bloomdue_core::evidence::{Share, boschloo, fisher};
use bloomdue_core::testing::{World, day, id};
use bloomdue_core::trial::result::{RunResult, run_result};
use bloomdue_core::trial::standing::{Counts, Sentence};
use serde_json::{Value, json};

use super::{list, number, refused, said_number};

/// Interval-censored germination counts (R package drc).
const GERMINATION: &str = include_str!("../data/germination.csv");

/// Germinated seeds by plate, two factors (R package aod).
const PLATES: &str = include_str!("../data/plates.csv");

/// Some seeds in one container, all with the same looks.
struct Batch {
    container: usize,
    n_seeds: usize,
    /// Days with a clear neck.
    clear: Vec<i64>,
    /// The first day with a shoot.
    with: Option<i64>,
}

/// A try being written: two or more groups of batches.
struct Writing {
    lines: String,
    n_bulbs: usize,
    bulbs: Vec<String>,
}

impl Writing {
    fn new() -> Self {
        let lines = "-9 mia place pl_1 Bench\n-9 mia lot lo_1 Seed\n".to_owned();
        Self { lines, n_bulbs: 0, bulbs: Vec::new() }
    }

    fn line(&mut self, line: &str) {
        self.lines.push_str(line);
        self.lines.push('\n');
    }

    /// Writes the seeds of a batch with their looks; their names.
    fn batch(&mut self, batch: &Batch) -> Vec<String> {
        let first = self.n_bulbs + 1;
        self.n_bulbs += batch.n_seeds;
        let names: Vec<String> = (first..=self.n_bulbs).map(|n| format!("b_{n}")).collect();
        let all = names.join(",");
        self.line(&format!("-9 mia bulb {all} lo_1 in=pl_1"));
        self.line(&format!("-9 mia potted {all} container=co_{}", batch.container));
        self.line(&format!("0 mia cycle-began {all}"));
        for on in &batch.clear {
            self.line(&format!("{on} mia look {all} clear"));
        }
        if let Some(on) = batch.with {
            for name in &names {
                let n = &name[2..];
                self.line(&format!("{on} mia look {name} sh_{n}/scape/scape-in-sight"));
            }
        }
        self.bulbs.extend(names.iter().cloned());
        names
    }

    fn container(&mut self, n: usize) {
        self.line(&format!("-9 mia container co_{n} Dish"));
    }

    /// The question, with what differs given to whole containers; the groups, rule, deadline and lots; closed at the end.
    fn finish(mut self, n_groups: usize, rule: &str, deadline: i64, lots: &str) -> World {
        let groups: Vec<String> = (0..n_groups).map(|n| format!("\"gr_{n}\"")).collect();
        let groups = groups.join(",");
        self.line(&format!(
            "-8 mia json tr_1 question {{\"text\":\"Which?\",\"factors\":[{{\"name\":\"what\",\"applied_to\":\"container\"}}],\"groups\":[{groups}]}}"
        ));
        for n in 0..n_groups {
            self.line(&format!("-8 mia group gr_{n} tr_1 Group-{n}"));
        }
        self.line("-8 mia run ru_1 tr_1 0 every=40");
        self.line(&format!("-8 mia rule ru_1 by scape-in-sight {rule}\n-8 mia due ru_1 {deadline}"));
        self.line(&format!("-8 mia allot ru_1 drawn {lots}"));
        self.line("0 mia run-started ru_1\n300 mia run-closed ru_1");
        World::of(&self.lines)
    }
}

/// What the try says once all is over.
fn said(world: &World) -> Option<RunResult> {
    run_result(&world.ledger, &world.state(), id("ru_1"), day(301))
}

/// The fields of every line below the head.
fn rows(csv: &str) -> impl Iterator<Item = Vec<&str>> {
    csv.lines().skip(1).map(|line| line.split(',').collect())
}

/// The seeds of one dish, as batches with the same looks.
fn dish(species: &str, temp: f64, container: usize) -> Vec<Batch> {
    let of_dish: Vec<(i64, Option<i64>, usize)> = rows(GERMINATION)
        .filter(|row| row[1] == species && row[0].parse() == Ok(temp))
        .filter_map(|row| {
            let whole = |text: &str| text.parse::<f64>().ok().filter(|day| day.is_finite());
            Some((whole(row[2])? as i64, whole(row[3]).map(|day| day as i64), row[4].parse().ok()?))
        })
        .collect();
    let mut looked: Vec<i64> = of_dish.iter().flat_map(|row| [Some(row.0), row.1]).flatten().collect();
    looked.sort_unstable();
    looked.dedup();
    let batch = |(start, end, n): &(i64, Option<i64>, usize)| Batch {
        container,
        n_seeds: *n,
        clear: looked.iter().copied().filter(|on| (1..=*start).contains(on)).collect(),
        with: *end,
    };
    of_dish.iter().filter(|row| row.2 > 0).map(batch).collect()
}

/// Germination counts as looks at bulbs, read back as the curve and the counts of every group.
pub(super) fn germination(input: &Value, _: &Value) -> Value {
    let species = input["species"].as_str().unwrap_or_default();
    let deadline = input["deadline_day"].as_i64().unwrap_or_default();
    let groups = input["groups"].as_array().map(Vec::as_slice).unwrap_or_default();
    let mut writing = Writing::new();
    let mut lots = String::new();
    let mut n_dishes = 0;
    for (n, temps) in groups.iter().enumerate() {
        let mut members = Vec::new();
        for temp in list(temps) {
            n_dishes += 1;
            writing.container(n_dishes);
            for batch in dish(species, temp, n_dishes) {
                members.extend(writing.batch(&batch));
            }
        }
        lots.push_str(&format!(" gr_{n}={}", members.join(",")));
    }
    let world = writing.finish(groups.len(), "", deadline, &lots);
    let Some(result) = said(&world) else {
        return refused("no such try");
    };
    let Some(times) = &result.times else {
        return refused("no times");
    };
    let both = times.groups.iter().zip(&result.standing.groups);
    let of_groups = both.map(|(times, stands)| {
        let stretches = times.stretches.as_ref().map_err(|reason| *reason);
        json!({
            "intervals": stretches.map_or_else(refused, |stretches| stretches.iter().map(|one| {
                json!({ "left": number(one.left), "right": number(one.right), "mass": number(one.mass) })
            }).collect::<Value>()),
            "median_days": times.median_days.map_or_else(refused, |(from, to)| json!([from, to])),
            "counts": of_counts(&stands.counts),
        })
    });
    json!({
        "groups": of_groups.collect::<Value>(),
        "p": p_of(&result.standing.sentence),
        "no_test": why_no_test(&result.standing.sentence),
    })
}

fn of_counts(counts: &Counts) -> Value {
    json!({
        "n_in_time": counts.n_in_time,
        "n_late": counts.n_late,
        "n_not_reached": counts.n_not_reached,
        "n_cant_say": counts.n_cant_say,
    })
}

/// The p of the one test, or that there is none.
fn p_of(sentence: &Sentence) -> Value {
    match sentence {
        Sentence::Decided(decided) => match decided.as_slice() {
            [one] => number(one.verdict.p),
            _ => json!("several verdicts"),
        },
        _ => refused("no verdict"),
    }
}

/// Why there is no test, as the screens are told.
fn why_no_test(sentence: &Sentence) -> Value {
    match sentence {
        Sentence::CountsOnly(why) | Sentence::NoTest(why) => json!(why),
        _ => refused("nothing of the kind"),
    }
}

/// One plate: its block, whether it is in the first group, its seeds and how many germinated.
struct Plate {
    block: usize,
    in_first: bool,
    n: usize,
    y: usize,
}

/// The plates that a case asks for, the other factor as the block.
fn plates(input: &Value) -> Vec<Plate> {
    let only = |row: &[&str]| {
        let matches = |(name, at): (&str, usize)| input["only"][name].as_str().is_none_or(|level| level == row[at]);
        [("seed", 0), ("root", 1)].into_iter().all(matches)
    };
    let (factor, other) = if input["factor"] == "root" { (1, 0) } else { (0, 1) };
    let wanted: Vec<Vec<&str>> = rows(PLATES).filter(|row| only(row)).collect();
    let mut levels: Vec<&str> = wanted.iter().map(|row| row[other]).collect();
    levels.sort_unstable();
    levels.dedup();
    let plate = |row: &Vec<&str>| {
        Some(Plate {
            block: levels.iter().position(|level| *level == row[other])?,
            in_first: input["first"].as_str() == Some(row[factor]),
            n: row[2].parse().ok()?,
            y: row[3].parse().ok()?,
        })
    };
    wanted.iter().filter_map(plate).collect()
}

/// Plates as drawn, or their seeds as if each had been drawn by itself.
pub(super) fn drawn(input: &Value, _: &Value) -> Value {
    let singly = input["drawn"] == "seeds";
    let plates = plates(input);
    let mut writing = Writing::new();
    let (mut members, mut blocks) = ([Vec::new(), Vec::new()], [Vec::new(), Vec::new()]);
    for (n, plate) in plates.iter().enumerate() {
        writing.container(n);
        let mut seeds = Vec::new();
        for (n_seeds, with) in [(plate.y, Some(30)), (plate.n - plate.y, None)] {
            let clear = if with.is_some() { vec![] } else { vec![30] };
            if n_seeds > 0 {
                seeds.extend(writing.batch(&Batch { container: n, n_seeds, clear, with }));
            }
        }
        let group = usize::from(!plate.in_first);
        let units = if singly { seeds } else { vec![format!("co_{n}")] };
        blocks[group].extend(vec![plate.block.to_string(); units.len()]);
        members[group].extend(units);
    }
    if members.concat().is_empty() {
        return refused("no plate");
    }
    let unit = if singly { "" } else { "container " };
    let lots = format!(
        "{unit}gr_0={} gr_1={} blocks={}",
        members[0].join(","),
        members[1].join(","),
        blocks.concat().join(",")
    );
    let blocked = plates.iter().any(|plate| plate.block > 0);
    let rule = match (singly, blocked) {
        (false, _) => "test=permutation-of-units",
        (true, true) => "test=exact-conditional",
        (true, false) => "",
    };
    let world = writing.finish(2, rule, 30, &lots);
    // Everything that any screen would say of this nursery.
    let answers = answers(&world.ledger, &world.state(), day(301));
    let whole = serde_json::to_value(&answers).unwrap_or_default();
    let mut of_seeds: Vec<f64> = input["seed_level_p"].as_f64().into_iter().collect();
    of_seeds.extend(seed_level_of_core(&plates));
    let times_said = occurrences(&whole, &of_seeds);
    match answers.trials.first().map(|trial| (trial, &trial.tries[..])) {
        Some((trial, [result])) => of_plates(trial, result, times_said),
        _ => refused("no such try"),
    }
}

/// Whether a model that takes every seed as a unit says anything of the pair over tries.
fn says_by_seeds(trial: &TrialAnswer) -> bool {
    let over_tries = trial.result.pairs.iter();
    let pooled = over_tries.clone().any(|pair| pair.random.is_ok());
    let alike = over_tries.clone().any(|pair| pair.alike_p.is_ok());
    pooled || alike || trial.next.iter().any(|next| next.prediction.is_ok())
}

fn of_plates(trial: &TrialAnswer, result: &RunResult, times_said: usize) -> Value {
    let sentence = &result.standing.sentence;
    let Sentence::Decided(decided) = sentence else {
        return json!({
            "p": refused("no verdict"),
            "strength": refused("no verdict"),
            "no_test": why_no_test(sentence),
            "times_seed_level_p_is_said": times_said,
            "any_model_by_seeds": says_by_seeds(trial),
        });
    };
    let [one] = decided.as_slice() else {
        return refused("several verdicts");
    };
    // A screen names the group with more first; the cases have the first group less the second.
    let gap = if one.compared.more == id("gr_0") { one.compared.gap } else { one.compared.gap.turned() };
    let end = |end: fn(bloomdue_core::evidence::Interval) -> f64| said_number(gap.interval.map(end));
    json!({
        "p": number(one.verdict.p),
        "difference": number(gap.difference),
        "interval": { "lower": end(|one| one.lower), "upper": end(|one| one.upper) },
        "strength": one.verdict.strength,
        "method": one.verdict.method,
        "no_test": refused("there is one"),
        "times_seed_level_p_is_said": times_said,
        "any_model_by_seeds": says_by_seeds(trial),
    })
}

/// What core's own tests would say of the seeds, were each a unit.
fn seed_level_of_core(plates: &[Plate]) -> Vec<f64> {
    let whole = |in_first: bool| {
        let of = plates.iter().filter(|plate| plate.in_first == in_first);
        let (reached, all) = of.fold((0, 0), |sum, plate| (sum.0 + plate.y, sum.1 + plate.n));
        Share::new(reached as u32, all as u32)
    };
    match (whole(true), whole(false)) {
        (Ok(a), Ok(b)) => vec![fisher::two_sided(a, b), boschloo::two_sided(a, b).p],
        _ => Vec::new(),
    }
}

/// How often one of these numbers stands anywhere in a value.
fn occurrences(value: &Value, wanted: &[f64]) -> usize {
    match value {
        Value::Array(items) => items.iter().map(|item| occurrences(item, wanted)).sum(),
        Value::Object(fields) => fields.values().map(|item| occurrences(item, wanted)).sum(),
        _ => value.as_f64().map_or(0, |number| {
            let same = |one: &&f64| (number - **one).abs() <= 1e-9 * one.abs();
            wanted.iter().filter(same).count().min(1)
        }),
    }
}
