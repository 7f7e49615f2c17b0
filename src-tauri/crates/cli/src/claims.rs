//! `boxworth claims`: sentences that are tested, stored, and checked in a draft.

use std::{fs, io::Read, path::PathBuf};

use clap::{Args, Subcommand, ValueHint};
use engine::{ClaimAddRequest, ClaimRequest, ClaimWithdrawRequest, DraftRequest, Engine, text};

use crate::{Answer, failure::Failure, output::Output, progress::Waiting};

#[derive(Debug, Subcommand)]
pub(crate) enum Claims {
    /// Judge a claim and store it with its verdict
    Add(Add),
    /// List the stored claims with their last verdicts
    List,
    /// Judge a claim without storing it; without one, judge all stored claims again and tell what changed
    Judge(Judge),
    /// Judge all claims of a draft review; exit status 1 where one is contradicted or not understood
    Check(Check),
    /// Withdraw a stored claim; it stays to be read
    Withdraw(Withdraw),
    /// Print how a claim is written; with --json all that claims can be about in this catalogue
    Grammar,
}

/// A claim, in words of the shell or as one text.
#[derive(Debug, Args)]
pub(crate) struct Add {
    /// The claim: a word, then key=value, such as best product=maker/model of=crossover band=200..500
    #[arg(required = true, value_name = "CLAIM")]
    pub(crate) claim: Vec<String>,
    /// The sentence as you print it
    #[arg(long, default_value = "", hide_default_value = true)]
    pub(crate) wording: String,
    /// Who says so
    #[arg(long, default_value = "", hide_default_value = true)]
    pub(crate) author: String,
    /// The number of the claim whose place it takes
    #[arg(long, value_name = "NUMBER")]
    pub(crate) replaces: Option<u32>,
    /// The seed of the draws; 0 without it
    #[arg(long)]
    pub(crate) seed: Option<u32>,
}

#[derive(Debug, Args)]
pub(crate) struct Judge {
    /// The claim; without it all stored claims
    #[arg(value_name = "CLAIM")]
    pub(crate) claim: Vec<String>,
    /// The seed of the draws; 0 without it
    #[arg(long, requires = "claim")]
    pub(crate) seed: Option<u32>,
    /// Draws, 100 to 1000000; 10000 without it
    #[arg(long, requires = "claim")]
    pub(crate) draws: Option<u32>,
}

#[derive(Debug, Args)]
pub(crate) struct Check {
    /// The draft, Markdown with claims in comments; - for standard input
    #[arg(value_name = "DRAFT", value_hint = ValueHint::FilePath)]
    pub(crate) draft: PathBuf,
    /// The seed of the draws; 0 without it
    #[arg(long)]
    pub(crate) seed: Option<u32>,
}

#[derive(Debug, Args)]
pub(crate) struct Withdraw {
    /// The number of the claim
    pub(crate) number: u32,
    /// Why
    #[arg(long, default_value = "", hide_default_value = true)]
    pub(crate) reason: String,
}

/// Words of the shell as one text: a value that lost its quotes to the shell gets them back.
fn one_text(words: &[String]) -> String {
    if let [one] = words {
        return one.clone();
    }
    let word = |it: &String| match it.split_once('=') {
        Some((key, value)) if value.contains(char::is_whitespace) && !value.starts_with('"') => {
            format!("{key}=\"{}\"", value.replace('\\', "\\\\").replace('"', "\\\""))
        }
        _ => it.clone(),
    };
    words.iter().map(word).collect::<Vec<_>>().join(" ")
}

/// Runs one of the commands; `open` opens the catalogue.
pub(crate) fn run(
    it: &Claims,
    open: impl FnOnce() -> Result<Engine, Failure>,
    wait: impl FnOnce() -> Waiting,
    output: &mut Output,
) -> Result<Answer, Failure> {
    if matches!(it, Claims::Grammar) {
        if output.is_json() {
            output.answer(&open()?.claim_forms()?, |_, _| String::new())?;
        } else {
            output.text(&engine::claim_help())?;
        }
        return Ok(Answer::Done);
    }
    // A draft that cannot be read is told before anything is loaded.
    let draft = match it {
        Claims::Check(it) => read(it)?,
        _ => String::new(),
    };
    let engine = open()?;
    let waiting = wait();
    match it {
        Claims::Add(it) => {
            let added = engine.add_claim(&ClaimAddRequest {
                claim: one_text(&it.claim),
                wording: it.wording.clone(),
                author: it.author.clone(),
                replaces: it.replaces,
                seed: it.seed,
            })?;
            drop(waiting);
            output.answer(&added, text::claim_added)?;
        }
        Claims::List => {
            let list = engine.claims()?;
            drop(waiting);
            output.answer(&list, text::claims)?;
        }
        Claims::Judge(it) if it.claim.is_empty() => {
            let report = engine.rejudge_claims()?;
            drop(waiting);
            output.answer(&report, text::claims_rejudged)?;
        }
        Claims::Judge(it) => {
            let judgement = engine.judge_claim(&ClaimRequest {
                claim: one_text(&it.claim),
                seed: it.seed,
                draws: it.draws,
            })?;
            drop(waiting);
            output.answer(&judgement, text::claim)?;
        }
        Claims::Check(it) => {
            let report = engine.check_draft(&DraftRequest { text: draft, seed: it.seed })?;
            drop(waiting);
            let refused = report.refused;
            output.answer(&report, text::draft)?;
            return Ok(if refused { Answer::Negative } else { Answer::Done });
        }
        Claims::Withdraw(it) => {
            let request = ClaimWithdrawRequest { id: it.number, reason: it.reason.clone() };
            let report = engine.withdraw_claim(&request)?;
            drop(waiting);
            output.answer(&report, text::claim_withdrawn)?;
        }
        Claims::Grammar => {}
    }
    Ok(Answer::Done)
}

fn read(it: &Check) -> Result<String, Failure> {
    let unreadable = |why: std::io::Error| {
        Failure::Engine(engine::Error::Request {
            place: "draft",
            text: it.draft.display().to_string(),
            why: format!("cannot be read: {why}"),
            accepted: "a text file in UTF-8, or - for standard input".into(),
        })
    };
    if it.draft.as_os_str() == "-" {
        let mut text = String::new();
        std::io::stdin().lock().read_to_string(&mut text).map_err(unreadable)?;
        return Ok(text);
    }
    fs::read_to_string(&it.draft).map_err(unreadable)
}
