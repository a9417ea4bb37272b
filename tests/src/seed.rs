//! The one seed of every random test, and how to repeat a failure with it.

use std::fmt::Debug;

use proptest::strategy::Strategy;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseResult, TestRng, TestRunner};

/// The environment variable that overrides [`DEFAULT_SEED`].
pub const SEED_VARIABLE: &str = "JIGWISE_SEED";

/// Used unless [`SEED_VARIABLE`] is set. Any number would do: a fixed one makes a red run
/// red again tomorrow.
pub const DEFAULT_SEED: u64 = 2;

/// Random cases tried for each law.
pub const CASES: u32 = 2_048;

/// The seed of this run.
///
/// # Panics
/// Where the environment variable is set to something other than a whole number.
pub fn seed() -> u64 {
    match std::env::var(SEED_VARIABLE) {
        Err(_) => DEFAULT_SEED,
        Ok(text) => text.trim().parse().unwrap_or_else(|_| {
            panic!("{SEED_VARIABLE} is {text:?}: give a whole number from 0 to 2^64 − 1")
        }),
    }
}

/// A runner that draws the same cases for the same seed, and writes no file.
#[expect(
    clippy::print_stderr,
    reason = "the test harness keeps it and shows it beside a failure"
)]
pub fn seeded_runner() -> TestRunner {
    let seed = seed();
    eprintln!("random cases from {SEED_VARIABLE}={seed}");
    let mut bytes = [0; 32];
    bytes[..8].copy_from_slice(&seed.to_le_bytes());
    let config = Config {
        failure_persistence: None,
        ..Config::with_cases(CASES)
    };
    TestRunner::new_with_rng(config, TestRng::from_seed(RngAlgorithm::ChaCha, &bytes))
}

/// Tries `law` on [`CASES`] values of `strategy`.
///
/// # Panics
/// Where the law fails, with the smallest failing value found and the seed that repeats it.
pub fn for_all<S>(strategy: &S, law: impl Fn(S::Value) -> TestCaseResult)
where
    S: Strategy,
    S::Value: Debug,
{
    if let Err(failure) = seeded_runner().run(strategy, law) {
        panic!(
            "{failure}\nrepeat with {SEED_VARIABLE}={}, or try another number",
            seed()
        );
    }
}
