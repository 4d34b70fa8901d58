//! How results were worked out: the method, its formula in words, its source, and what other methods say.

use bloomdue_core::evidence::verdict::{IntervalBy, Method};
use bloomdue_core::evidence::{How, Interval};
use bloomdue_core::nursery::State;
use bloomdue_core::trial::result::measures::{Measurand, MeasureGap};
use bloomdue_core::trial::result::secondary::{Beside, IntervalName, Overall, TestName};
use bloomdue_core::trial::result::times::Speed;
use bloomdue_core::trial::result::tries::{FactorEffect, PairOverTries};

use crate::formats::decimal;
use crate::results::{measurand, two};
use crate::table::Table;
use crate::trials::upper_first;

labels! {
    other_methods = "Other methods, which do not decide";
    /// What the pictures of days rest on.
    days =
        "The shares by day: Turnbull's curve, the one under which these looks are most probable. It rises only \
         in stretches that the looks leave open, and nothing says where in them (Turnbull 1976, Journal of the \
         Royal Statistical Society B 38:290). What died, left or is missing is followed to its last look.";
    /// What the growing evidence rests on.
    growing =
        "The evidence as it grew: before each class both shares are guessed from those before, and the \
         evidence is multiplied by how much better two guesses foretold it than one (Turner, Ly & Grünwald \
         2024). Look by look: of those still without, how many of each group are new, against what lots alone \
         would give, over a fixed row of speeds (ter Schure and others 2024). Either passes 20 with at most 1 \
         chance in 20 when groups are alike, however often one looks (Ville 1939).";
    /// What the chances of noticing a gap rest on.
    foresight =
        "What groups can tell: every result that the test would call told apart, with its probability at the two \
         true shares, added up (Suissa & Shuster 1985, Journal of the Royal Statistical Society A 148:317). With \
         classes it is the test within classes.";
    /// What measures rest on.
    measures =
        "Measures and counts: the difference of means within classes, tested over every draw of lots; the \
         interval holds each shift that the same draws do not refuse (Edgington & Onghena 2007, Randomization \
         Tests; Lehmann 1975).";
    /// What several tries together rest on.
    over_tries =
        "Tries are never added up; each is compared within itself. The one test is the exact conditional test \
         within tries and classes (Gart 1970, Biometrika 57:471). Its error is spent try by try, at most 1 in 20 \
         over all tries there will ever be: half of that on the first, two thirds by the second (Lan & DeMets \
         1983, Biometrika 70:659). A try counts once it is over, so that looking while it runs changes nothing. \
         Fixed parts for each look and evidence that grows hold as well, and find less: of 100 gaps of 3 in ten, \
         with 12 bulbs a group and four tries, 35 to 51. This test finds 70; one look fixed beforehand, 76. \
         The next try: a model in which tries differ and the difference between groups differs from try to try, \
         with priors that are wide for few tries (Spiegelhalter, Abrams & Myles 2004); every share that it allows \
         is added up with its probability.";
    factors_how =
        "Firth's penalised logistic regression over tries, with limits from the profile (Firth 1993; Heinze & \
         Schemper 2002). For reading; it does not decide.";
}

/// The formula of the deciding test, in words.
pub fn test_in_words(method: Method) -> &'static str {
    match method {
        Method::Boschloo => {
            "In words: of all results that groups of these sizes could give, take those that Fisher's test finds at least as surprising as this one; p is how often they would come if both groups had the same true share, taken at the share that makes this largest."
        }
        Method::Fisher => {
            "In words: with as many in time over both groups as there were, p is how often a draw of lots alone would give a result that is no more probable than this one."
        }
        Method::ExactConditional => {
            "In words: in every class (and try) as many are in time as there were; p is how often lots alone would put a number of them into the first group that is no more probable than this one."
        }
        Method::UnitPermutation => {
            "In words: the containers keep their shares and the lots are drawn anew in every way that was possible; p is the part of these draws that sets the groups at least as far apart."
        }
        Method::ExactOverTries => {
            "In words: in every try and class as many are in time as there were, and lots alone share them out. After each try the rarest sums count as told apart, as many as the error to spend allows; p is the least error at which the sum that came was among them, now or after an earlier try."
        }
        Method::PermutationOverTries => {
            "In words: after each try the containers of all tries keep their shares and the lots are drawn anew; p is the part of the draws that sets the groups at least as far apart, divided by what that look may spend, and the smallest of these."
        }
    }
}

/// The formula of the interval of the difference, in words.
pub fn interval_in_words(by: IntervalBy) -> &'static str {
    match by {
        IntervalBy::Newcombe => {
            "The interval of the difference: from the difference, go down by the root of the two squared distances to the limits of each share that lie that way, and up by those that lie the other way (Newcombe 1998, Statistics in Medicine 17:873, method 10)."
        }
        IntervalBy::MantelHaenszel => {
            "The interval of the difference: each class's difference counts with the product of its group sizes over their sum, and the spread is Sato's (Mantel & Haenszel 1959; Sato 1989, Biometrics 45:1323)."
        }
        IntervalBy::Permutation => {
            "The interval of the difference: every shift that, taken off one group, the same draws of lots would not refuse (Lehmann 1975, Nonparametrics, §2)."
        }
    }
}

/// A test's name with its source.
fn test(name: TestName) -> &'static str {
    match name {
        TestName::Fisher => "Fisher's exact test (1935)",
        TestName::FisherMidP => "Fisher's, mid-p (Hirji 2006)",
        TestName::Barnard => "Barnard's test (1945; Suissa & Shuster 1985)",
        TestName::Boschloo => "Boschloo's test (1970)",
        TestName::ExactConditional => "exact conditional, within classes (Gart 1970)",
        TestName::ExactConditionalMidP => "the same, mid-p",
        TestName::CochranMantelHaenszel => "Cochran, Mantel & Haenszel (1959)",
    }
}

/// An interval's name with its source.
fn interval(name: IntervalName) -> &'static str {
    match name {
        IntervalName::DifferenceMiettinenNurminen => "difference, Miettinen & Nurminen (1985)",
        IntervalName::DifferenceAgrestiCaffo => "difference, Agresti & Caffo (2000)",
        IntervalName::DifferenceAtAnyTime => "difference that holds at all looks (Howard and others 2021)",
        IntervalName::RatioKoopman => "ratio of the shares, Koopman (1984)",
        IntervalName::OddsRatioExact => "odds ratio, exact (Gart 1970)",
        IntervalName::OddsRatioMantelHaenszel => "odds ratio, Mantel & Haenszel (Robins and others 1986)",
    }
}

fn p(said: bloomdue_core::evidence::Result<f64>) -> String {
    match said {
        Ok(p) if p < 0.001 => format!("p below {}", decimal(0.001, 3)),
        Ok(p) => format!("p = {}", decimal(p, 3)),
        Err(why) => crate::results::cannot_clause(why),
    }
}

fn limits(said: bloomdue_core::evidence::Result<Interval>) -> String {
    let end = |value: f64| {
        if value.is_finite() { decimal(value, 2) } else { "no end".to_owned() }
    };
    match said {
        Ok(found) => format!("{} to {}", end(found.lower), end(found.upper)),
        Err(why) => crate::results::cannot_clause(why),
    }
}

/// What other methods say of a pair.
pub fn beside_table(beside: &Beside, state: &State) -> Table {
    let (a, b) = (state.name_of(beside.a), state.name_of(beside.b));
    let tests = beside.tests.iter();
    let mut rows: Vec<Vec<String>> = tests
        .map(|one| {
            let found = format!("{}{}", p(one.p), found_by(one.how));
            vec![upper_first(test(one.name)), found]
        })
        .collect();
    rows.extend(beside.intervals.iter().map(|one| vec![upper_first(interval(one.name)), limits(one.interval)]));
    if let Ok(chance) = beside.a_better {
        rows.push(vec![
            format!(
                "Chance that the true share of {a} is the larger one (two beta posteriors, Jeffreys' priors; no p)"
            ),
            decimal(chance, 2),
        ]);
    }
    Table {
        caption: format!("{}: other methods", two(a, b)),
        heads: vec!["Method".to_owned(), format!("{a} less {b}, or over it; intervals 95 %")],
        rows,
    }
}

/// All groups at once.
pub fn overall(overall: &Overall) -> Vec<String> {
    let mut lines = vec![format!(
        "All groups at once (Freeman & Halton 1951), which does not decide: {}{}.",
        p(overall.freeman_halton_p),
        found_by(overall.freeman_halton_how)
    )];
    if let Some(factor) = &overall.trend_over {
        lines.push(format!(
            "A trend over {factor}, exact (Armitage 1955), which does not decide: {}{}.",
            p(overall.trend_p),
            found_by(overall.trend_how)
        ));
    }
    lines
}

/// The test of speed, which does not decide.
pub fn speed(speed: &Speed, state: &State) -> String {
    format!(
        "{}, which is faster: permuted interval scores within classes (Finkelstein 1986; Sun 1996), which do not decide: {}{}.",
        two(state.name_of(speed.a), state.name_of(speed.b)),
        p(speed.p),
        found_by(speed.how)
    )
}

/// The tests of a measure, which do not decide.
pub fn measure_tests(what: Measurand, gaps: &[MeasureGap], state: &State) -> Vec<String> {
    let line = |gap: &MeasureGap| {
        format!(
            "{}, {}: {}{}; does not decide.",
            measurand(what),
            two(state.name_of(gap.a), state.name_of(gap.b)),
            p(gap.p),
            found_by(gap.how)
        )
    };
    gaps.iter().map(line).collect()
}

fn found_by(how: Option<How>) -> String {
    match how {
        Some(How::MonteCarlo { draws, seed }) => {
            format!(" (from {draws} random draws, seed {seed})")
        }
        Some(How::Normal) => " (normal approximation; too many cases to count)".to_owned(),
        Some(How::FisherMidP) => " (Fisher's mid-p stands in; too many cases to count)".to_owned(),
        _ => String::new(),
    }
}

/// What other methods say of all tries.
pub fn over_tries_table(pair: &PairOverTries, state: &State) -> Table {
    let (a, b) = (state.name_of(pair.a), state.name_of(pair.b));
    let mut rows = vec![vec!["Are the tries alike (Breslow & Day 1980; Tarone 1985)".to_owned(), p(pair.alike_p)]];
    if let Ok(random) = pair.random {
        rows.push(vec![
            "Tries that may truly differ: mean difference (restricted likelihood, Viechtbauer 2005; limits by Hartung & Knapp 2001)".to_owned(),
            format!("{} ({})", decimal(random.estimate, 2), limits(Ok(random.interval))),
        ]);
        rows.push(vec!["The same: standard deviation between tries".to_owned(), decimal(random.tau, 2)]);
    }
    Table {
        caption: format!("{}: other methods", two(a, b)),
        heads: vec!["Method".to_owned(), format!("{a} less {b}")],
        rows,
    }
}

/// Factors at once.
pub fn factors_table(factors: &[FactorEffect]) -> Table {
    let row = |effect: &FactorEffect| {
        let odds = |log: f64| log.exp();
        let span = effect.interval.map(|found| Interval { lower: odds(found.lower), upper: odds(found.upper) });
        vec![
            format!("{}: {} instead of {}", upper_first(&effect.factor), effect.to, effect.from),
            format!("× {}", decimal(odds(effect.estimate), 2)),
            limits(span),
        ]
    };
    Table {
        caption: "What each factor did to the odds of being in time".to_owned(),
        heads: ["Factor, all else alike", "Odds", "95 times in 100"].map(str::to_owned).to_vec(),
        rows: factors.iter().map(row).collect(),
    }
}
