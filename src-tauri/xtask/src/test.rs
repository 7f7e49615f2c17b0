//! `cargo xtask test`: runs stages one after another and says how each went.

use crate::options::Choice;
use crate::setup;
use crate::shell::{Failure, Shell};
use crate::stages::{STAGES, Stage};
use std::fs;
use std::io::Write;
use std::time::{Duration, Instant};

/// How a stage went.
#[derive(Debug, PartialEq)]
enum Outcome {
    Passed,
    Failed,
    /// A stage it relies on, named here, did not pass.
    NotRun(&'static str),
}

/// Runs the chosen stages to the end, whatever fails, and fails if one did.
pub(crate) fn test(shell: &Shell, choice: &Choice) -> Result<(), Failure> {
    let stages = chosen(STAGES, choice).map_err(Failure::refused)?;
    setup::setup(shell, stages.iter().any(|it| it.window), true)?;
    let logs = shell.target().join("xtask");
    fs::create_dir_all(&logs).map_err(Failure::at(&logs))?;

    let mut outcomes: Vec<(&'static str, Outcome)> = Vec::new();
    for stage in stages {
        print!("{:15}", stage.name);
        std::io::stdout().flush().map_err(Failure::new)?;
        let started = Instant::now();
        if let Some(other) = blocked_by(stage, &outcomes) {
            let outcome = Outcome::NotRun(other);
            println!("{}", ending(&outcome, started.elapsed()));
            outcomes.push((stage.name, outcome));
            continue;
        }
        let log = logs.join(format!("{}.log", stage.name));
        let quiet = shell
            .logging_to(&log)?
            // New snapshots are for people to accept.
            .with("INSTA_UPDATE", "no")
            // Plugins that run less confined than they should are a failure, not a remark.
            .with("BOXWORTH_REQUIRE_SANDBOX", "1");
        let result = (stage.work)(&quiet);
        let outcome = if result.is_ok() { Outcome::Passed } else { Outcome::Failed };
        println!("{}", ending(&outcome, started.elapsed()));
        if let Err(failure) = result {
            let output = fs::read(&log).map_err(Failure::at(&log))?;
            println!("{}{}\n", String::from_utf8_lossy(&output), failure.text);
        }
        outcomes.push((stage.name, outcome));
    }
    let failed: Vec<&str> =
        outcomes.iter().filter(|(_, it)| *it != Outcome::Passed).map(|(name, _)| *name).collect();
    if failed.is_empty() {
        println!("{}", summary(&outcomes));
        return Ok(());
    }
    // On standard output and before the summary, which is the last line.
    println!("did not pass: {}", failed.join(" "));
    println!("{}", summary(&outcomes));
    Err(Failure::new(String::new()))
}

fn chosen<'a>(stages: &'a [Stage], choice: &Choice) -> Result<Vec<&'a Stage>, String> {
    let position = |name: &String| {
        let names: Vec<&str> = stages.iter().map(|it| it.name).collect();
        let found = names.iter().position(|it| it == name);
        found.ok_or_else(|| format!("there is no stage `{name}`; there are: {}", names.join(" ")))
    };
    let only = choice.only.iter().map(&position).collect::<Result<Vec<usize>, String>>()?;
    let from = choice.from.as_ref().map(position).transpose()?.unwrap_or(0);
    let wanted = |at: usize| from <= at && (only.is_empty() || only.contains(&at));
    Ok(stages.iter().enumerate().filter(|(at, _)| wanted(*at)).map(|(_, it)| it).collect())
}

/// The first stage that this one relies on and that did not pass. A stage that was not chosen blocks nothing: whoever
/// left it out answers for what it makes.
fn blocked_by(stage: &Stage, outcomes: &[(&'static str, Outcome)]) -> Option<&'static str> {
    let bad = |name: &str| {
        outcomes.iter().any(|(it, outcome)| *it == name && *outcome != Outcome::Passed)
    };
    stage.after.iter().copied().find(|name| bad(name))
}

fn ending(outcome: &Outcome, time: Duration) -> String {
    match outcome {
        Outcome::Passed => format!("passed {:8.1} s", time.as_secs_f64()),
        Outcome::Failed => format!("FAILED {:8.1} s", time.as_secs_f64()),
        Outcome::NotRun(other) => format!("not run: {other} did not pass"),
    }
}

/// The last line. A stage that could not run has not passed.
fn summary(outcomes: &[(&'static str, Outcome)]) -> String {
    let passed = outcomes.iter().filter(|(_, it)| *it == Outcome::Passed).count();
    format!("{passed} passed, {} failed", outcomes.len() - passed)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stage(name: &'static str, after: &'static [&'static str]) -> Stage {
        Stage { name, after, window: false, work: |_| Ok(()) }
    }

    fn names(choice: &Choice) -> Result<Vec<&'static str>, String> {
        let stages = [stage("fmt", &[]), stage("build", &[]), stage("unit", &["build"])];
        Ok(chosen(&stages, choice)?.iter().map(|it| it.name).collect())
    }

    #[test]
    fn all_stages_are_chosen_unless_some_are_named() {
        assert_eq!(names(&Choice::default()), Ok(vec!["fmt", "build", "unit"]));
        let from = Choice { from: Some("build".to_owned()), only: Vec::new() };
        assert_eq!(names(&from), Ok(vec!["build", "unit"]));
        let only = Choice { from: None, only: vec!["unit".to_owned(), "fmt".to_owned()] };
        assert_eq!(names(&only), Ok(vec!["fmt", "unit"]));
    }

    #[test]
    fn an_unknown_stage_is_refused_with_the_known_ones() {
        let choice = Choice { from: None, only: vec!["units".to_owned()] };
        assert_eq!(
            names(&choice),
            Err("there is no stage `units`; there are: fmt build unit".to_owned())
        );
    }

    #[test]
    fn a_failure_stops_only_what_relies_on_it() {
        let outcomes = [("fmt", Outcome::Failed), ("build", Outcome::NotRun("fmt"))];
        assert_eq!(blocked_by(&stage("unit", &["build"]), &outcomes), Some("build"));
        assert_eq!(blocked_by(&stage("docs", &[]), &outcomes), None);
        assert_eq!(blocked_by(&stage("unit", &["build"]), &[("build", Outcome::Passed)]), None);
        assert_eq!(blocked_by(&stage("unit", &["build"]), &[]), None);
    }

    #[test]
    fn a_stage_that_did_not_run_counts_as_failed() {
        let outcomes =
            [("a", Outcome::Passed), ("b", Outcome::Failed), ("c", Outcome::NotRun("b"))];
        assert_eq!(summary(&outcomes), "1 passed, 2 failed");
        assert_eq!(summary(&[("a", Outcome::Passed)]), "1 passed, 0 failed");
    }

    #[test]
    fn a_line_has_the_time() {
        assert_eq!(ending(&Outcome::Passed, Duration::from_millis(12_340)), "passed     12.3 s");
        assert_eq!(
            ending(&Outcome::NotRun("build"), Duration::ZERO),
            "not run: build did not pass"
        );
    }

    #[test]
    fn stages_rely_on_earlier_ones_only() {
        for (at, stage) in STAGES.iter().enumerate() {
            for name in stage.after {
                assert!(
                    STAGES[..at].iter().any(|it| it.name == *name),
                    "{} relies on {name}",
                    stage.name
                );
            }
        }
    }
}
