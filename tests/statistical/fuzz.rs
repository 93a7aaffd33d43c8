//! Documents as careless and hostile hands write them, a million read and twenty thousand answered: no panic, no error but
//! those that say what is wrong with the document or why there is no answer, no probability outside (0, 1), no more work than
//! is allowed. `cargo test --release --test statistical fuzz -- --ignored --nocapture`; `UNDERTURF_READ` and
//! `UNDERTURF_ANSWERED` set how many, `UNDERTURF_FIRST` the first seed.

use crate::mutator::Document;
use crate::mutator::targets::Outcome;
use rayon::prelude::*;
use std::any::Any;
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};
use underturf::effort::Effort;

/// A document that takes longer is printed; the limit that holds is the effort, not the clock.
const SLOW: Duration = Duration::from_secs(20);

fn number(name: &str, usual: u64) -> u64 {
    std::env::var(name).ok().and_then(|value| value.parse().ok()).unwrap_or(usual)
}

fn message(payload: &(dyn Any + Send)) -> String {
    let plain = payload.downcast_ref::<&str>().map(|text| (*text).to_owned());
    plain.or_else(|| payload.downcast_ref::<String>().cloned()).unwrap_or_default()
}

/// Runs each of these numbers; what became of them by name, and what must not be.
fn run(
    numbers: std::ops::Range<u64>,
    one: impl Fn(u64) -> Result<&'static str, String> + Sync,
) -> (BTreeMap<&'static str, usize>, Vec<String>) {
    let caught = |seed: u64| {
        let start = Instant::now();
        let outcome = catch_unwind(AssertUnwindSafe(|| one(seed)));
        let outcome = outcome
            .unwrap_or_else(|payload| Err(format!("panic: {}", message(payload.as_ref()))))
            .map_err(|wrong| format!("seed {seed}: {wrong}"));
        if start.elapsed() > SLOW {
            println!("seed {seed}: {:.0} s, {outcome:?}", start.elapsed().as_secs_f64());
        }
        outcome
    };
    let all: Vec<Result<&'static str, String>> = numbers.into_par_iter().map(caught).collect();
    let (mut counts, mut wrong) = (BTreeMap::new(), Vec::new());
    for outcome in all {
        match outcome {
            Ok(name) => *counts.entry(name).or_insert(0) += 1,
            Err(what) => wrong.push(what),
        }
    }
    (counts, wrong)
}

fn told(what: &str, counts: &BTreeMap<&'static str, usize>, wrong: &[String]) {
    println!("{what}: {counts:?}, wrong: {}", wrong.len());
    wrong.iter().take(20).for_each(|wrong| println!("  {wrong}"));
}

#[test]
#[ignore = "hours"]
fn fuzz_documents() {
    let first = number("UNDERTURF_FIRST", 0);
    let read = |seed: u64| Ok(if Document::of(seed).read().is_ok() { "read" } else { "refused" });
    let (counts, wrong) = run(first..first + number("UNDERTURF_READ", 1_000_000), read);
    told("read", &counts, &wrong);
    assert!(wrong.is_empty(), "{} documents", wrong.len());
    let answer = |seed: u64| {
        Document::hostile(seed).run(Effort::USUAL).map(|outcome| match outcome {
            Outcome::Refused => "refused",
            Outcome::GivenUp => "given up",
            Outcome::NoAnswer => "no answer",
            Outcome::Answered => "answered",
        })
    };
    let (counts, wrong) = run(first..first + number("UNDERTURF_ANSWERED", 20_000), answer);
    told("answered", &counts, &wrong);
    assert!(wrong.is_empty(), "{} documents", wrong.len());
}

/// Planted faults: a panic and a wrong probability are counted as such.
#[test]
fn what_must_not_be_is_counted() {
    let one = |seed: u64| match seed {
        0 => panic!("planted"),
        1 => Err("p = -1e-16".to_owned()),
        _ => Ok("fine"),
    };
    let (counts, wrong) = run(0..5, one);
    assert_eq!(counts["fine"], 3);
    assert!(
        wrong.len() == 2 && wrong[0].contains("panic: planted") && wrong[1].contains("seed 1: p = -1e-16")
    );
}
