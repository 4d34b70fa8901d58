//! Evidence that may be looked at any time.

use bloomdue_core::evidence::Share;
use bloomdue_core::evidence::e_process::{self, Block, Priors};
use bloomdue_core::evidence::sequence::{self, Mixture, Spread};
use serde_json::{Value, json};

use super::{count, counts, interval, list, number, refused, said_number, share};

fn real(input: &Value, name: &str) -> f64 {
    input[name].as_f64().unwrap_or(f64::NAN)
}

fn mixture(input: &Value) -> bloomdue_core::evidence::Result<Mixture> {
    Mixture::new(real(input, "prior_a"), real(input, "prior_b"), real(input, "alpha"))
}

/// The beta-binomial sequence at one look, or at several with their running intersection.
pub(super) fn beta_binomial(input: &Value, _: &Value) -> Value {
    let mixture = match mixture(input) {
        Ok(mixture) => mixture,
        Err(reason) => return refused(reason),
    };
    let Some(outcomes) = input["outcomes"].as_array() else {
        return share(&input["events"], &input["n"]).map_or_else(refused, |share| interval(mixture.interval(share)));
    };
    let mut reached = 0;
    let looks: Result<Vec<Share>, _> = (1..)
        .zip(outcomes)
        .map(|(n, outcome)| {
            reached += u32::from(outcome.as_f64() == Some(1.0));
            Share::new(reached, n)
        })
        .collect();
    let looks = match looks {
        Ok(looks) => looks,
        Err(reason) => return refused(reason),
    };
    let running = mixture.running(&looks);
    let p0 = real(input, "p0");
    let look = |n: usize| {
        let Some(share) = n.checked_sub(1).and_then(|index| looks.get(index)).copied() else {
            return refused("no such look");
        };
        let (now, all) = (mixture.interval(share), running[n - 1]);
        json!({
            "n": n,
            "events": share.reached(),
            "lower": number(now.lower),
            "upper": number(now.upper),
            "running_lower": said_number(all.map(|all| all.lower)),
            "running_upper": said_number(all.map(|all| all.upper)),
            "e_against_p0": said_number(mixture.evidence(share, p0)),
        })
    };
    json!({ "looks": counts(&input["looks"]).into_iter().map(look).collect::<Value>() })
}

/// The union bound for a difference.
pub(super) fn union(input: &Value, _: &Value) -> Value {
    let shares =
        share(&input["events_a"], &input["n_a"]).and_then(|a| Ok((a, share(&input["events_b"], &input["n_b"])?)));
    match (mixture(input), shares) {
        (Ok(mixture), Ok((a, b))) => interval(mixture.difference(a, b)),
        (Err(reason), _) => refused(reason),
        (_, Err(reason)) => refused(reason),
    }
}

/// The normal mixture and both empirical Bernstein sequences.
pub(super) fn bounded(input: &Value, _: &Value) -> Value {
    let outcomes = list(&input["outcomes"]);
    let [alpha, rho, cap] = ["alpha", "rho", "lambda_cap"].map(|name| real(input, name));
    let look = |n: usize| {
        let seen = &outcomes[..n.min(outcomes.len())];
        let normal = sequence::normal_mixture(seen, rho, alpha);
        let bernstein = |spread| sequence::empirical_bernstein(seen, alpha, cap, spread);
        let (paper, plain) = (bernstein(Spread::Regularised), bernstein(Spread::Plain));
        json!({
            "n": n,
            "mean": number(seen.iter().sum::<f64>() / n as f64),
            "normal_mixture_lower": said_number(normal.map(|band| band.lower)),
            "normal_mixture_upper": said_number(normal.map(|band| band.upper)),
            "empirical_bernstein_lower": said_number(paper.map(|band| band.lower)),
            "empirical_bernstein_upper": said_number(paper.map(|band| band.upper)),
            "empirical_bernstein_confseq_lower": said_number(plain.map(|band| band.lower)),
            "empirical_bernstein_confseq_upper": said_number(plain.map(|band| band.upper)),
        })
    };
    json!({ "looks": counts(&input["looks"]).into_iter().map(look).collect::<Value>() })
}

/// The e-process over blocks.
pub(super) fn e_process(input: &Value, _: &Value) -> Value {
    let items = input["blocks"].as_array().map(Vec::as_slice).unwrap_or_default();
    let blocks: Result<Vec<Block>, String> = items
        .iter()
        .map(|block| {
            Ok(Block { a: share(&block["events_a"], &block["n_a"])?, b: share(&block["events_b"], &block["n_b"])? })
        })
        .collect();
    let prior = &input["prior"];
    let priors = if prior.is_object() {
        Priors {
            reached_a: real(prior, "success_a"),
            missed_a: real(prior, "failure_a"),
            reached_b: real(prior, "success_b"),
            missed_b: real(prior, "failure_b"),
        }
    } else {
        Priors::DEFAULT
    };
    let evidence = match blocks.and_then(|blocks| e_process::run(&blocks, priors).map_err(|reason| reason.to_string()))
    {
        Ok(evidence) => evidence,
        Err(reason) => return refused(reason),
    };
    json!({
        "block_e": evidence.iter().map(|evidence| number(evidence.block)).collect::<Value>(),
        "running_e": evidence.iter().map(|evidence| number(evidence.running)).collect::<Value>(),
        "anytime_p": evidence.iter().map(|evidence| number(evidence.anytime_p)).collect::<Value>(),
        "first_block_reaching_20": e_process::first_reaching(&evidence, 20.0).map_or_else(|| refused("never"), Value::from),
    })
}

/// How often equal groups reach 1/α at any block, by simulation from a fixed seed.
pub(super) fn type_one(input: &Value, _: &Value) -> Value {
    let size = |name: &str| count(&input[name]).unwrap_or(0);
    let (theta, alpha) = (real(input, "theta"), real(input, "alpha"));
    let (simulations, blocks) = (size("simulations"), size("blocks"));
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let mut unit = move || {
        // xorshift64*, Vigna 2016, ACM Transactions on Mathematical Software 42:30.
        state ^= state >> 12;
        state ^= state << 25;
        state ^= state >> 27;
        (state.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 11) as f64 / (1_u64 << 53) as f64
    };
    let mut alarms = 0;
    for _ in 0..simulations {
        let mut draw = |n: usize| Share::new((0..n).filter(|_| unit() < theta).count() as u32, n as u32);
        let run: bloomdue_core::evidence::Result<Vec<Block>> =
            (0..blocks).map(|_| Ok(Block { a: draw(size("n_a"))?, b: draw(size("n_b"))? })).collect();
        match run.and_then(|run| e_process::run(&run, Priors::DEFAULT)) {
            Ok(evidence) => alarms += usize::from(e_process::first_reaching(&evidence, 1.0 / alpha).is_some()),
            Err(reason) => return refused(reason),
        }
    }
    let rate = alarms as f64 / simulations.max(1) as f64;
    // The bound is kept when the rate is not above it.
    json!({ "rejection_rate_at_most": number(rate.max(alpha)), "simulated_rate": number(rate) })
}
