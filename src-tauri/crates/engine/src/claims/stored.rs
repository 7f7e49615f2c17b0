//! Claims in the catalogue: put down, listed, judged again, withdrawn.

use std::collections::BTreeMap;

use catalog::{ClaimVerdict, NewClaim};
use domain::claim::Claim;
use serde::Deserialize;

use super::{ClaimRequest, judged::Terms, parsed};
use crate::{
    Engine, Error, clock,
    dto::{
        ClaimAdded, ClaimChange, ClaimJudgement, ClaimList, ClaimVerdictDto, ClaimWithdrawn,
        ClaimsRejudged, StoredClaim,
    },
    scoring::Scored,
};

/// A claim to be stored.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct ClaimAddRequest {
    /// The claim as typed.
    pub claim: String,
    /// The author's sentence; may be empty.
    pub wording: String,
    /// Who says so; may be empty.
    pub author: String,
    /// The number of the claim whose place it takes.
    pub replaces: Option<u32>,
    /// The seed of the draws; 0 when absent.
    pub seed: Option<u32>,
}

/// A claim to be withdrawn.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct ClaimWithdrawRequest {
    /// Its number.
    pub id: u32,
    /// Why.
    pub reason: String,
}

impl Engine {
    /// Judges a claim and stores it with its verdict.
    ///
    /// # Errors
    /// As [`Engine::judge_claim`], for the number of a claim that cannot be replaced, or when the catalogue cannot be written.
    pub fn add_claim(&self, request: &ClaimAddRequest) -> Result<ClaimAdded, Error> {
        let claim = parsed(&request.claim)?;
        if let Some(id) = request.replaces {
            let found = self.stored(id)?;
            if found.replaced_by.is_some() || found.withdrawn.is_some() {
                return Err(Error::request(
                    "replaces",
                    &id.to_string(),
                    "does not stand any more",
                    "the number of a claim that stands",
                ));
            }
        }
        let known = self.reader().known()?;
        let judgement = self.judge_claim(&ClaimRequest {
            claim: request.claim.clone(),
            seed: request.seed,
            draws: None,
        })?;
        let new = NewClaim {
            statement: claim.to_string(),
            wording: request.wording.trim().to_owned(),
            author: request.author.trim().to_owned(),
            made_at: clock::now(),
            replaces: request.replaces,
        };
        let verdict = verdict(&judgement, known, Vec::new())?;
        let id = self.writer()?.add_claim(&new, &verdict)?;
        Ok(ClaimAdded { id, judgement })
    }

    /// All claims with their verdicts, newest first.
    ///
    /// # Errors
    /// When the catalogue cannot be read.
    pub fn claims(&self) -> Result<ClaimList, Error> {
        let (found, known) = {
            let reader = self.reader();
            (reader.claims()?, reader.known()?)
        };
        let scored = self.scored_rules()?;
        let now = Now { scored: &scored, known, as_of: self.today().to_string() };
        let mut counts = BTreeMap::new();
        let mut claims: Vec<StoredClaim> = Vec::with_capacity(found.len());
        for it in &found {
            let dto = stored(it, &now)?;
            if stands(it)
                && let Some(last) = it.verdicts.last()
            {
                *counts.entry(last.verdict.clone()).or_insert(0) += 1;
            }
            claims.push(dto);
        }
        claims.reverse();
        Ok(ClaimList { claims, counts })
    }

    /// Judges all claims that stand again. A verdict is stored where anything that it rests on changed; where it is another one, the
    /// changes since are taken back one by one to find which did it.
    ///
    /// # Errors
    /// When the catalogue cannot be read or written.
    pub fn rejudge_claims(&self) -> Result<ClaimsRejudged, Error> {
        let (found, known) = {
            let reader = self.reader();
            (reader.claims()?, reader.known()?)
        };
        let rules = self.scored_rules()?;
        let now = Now { scored: &rules, known, as_of: self.today().to_string() };
        let mut report =
            ClaimsRejudged { judged: 0, unchanged: 0, changed: Vec::new(), unreadable: Vec::new() };
        let mut new = Vec::new();
        for it in found.iter().filter(|it| stands(it)) {
            let Some(last) = it.verdicts.last() else { continue };
            let terms = Terms { seed: last.seed, draws: None, flips: true };
            let judged =
                Claim::parse(&it.claim.statement).map_err(super::read::bad).and_then(|claim| {
                    let (scored, hard) = self.scored_for(&claim)?;
                    Ok((self.judged(&claim, &scored, &hard, terms)?, claim, scored))
                });
            let (judged, claim, scored) = match judged {
                Ok(it) => it,
                Err(why) => {
                    report.unreadable.push(format!("Claim {}: {why}", it.id));
                    continue;
                }
            };
            report.judged += 1;
            let answer = judged.answer;
            let sentence = text_of(last, "sentence")?;
            if answer.verdict == last.verdict && answer.sentence == sentence {
                report.unchanged += 1;
                if now.differs(last)? {
                    new.push((it.id, verdict(&answer, known, Vec::new())?));
                }
                continue;
            }
            let causes = self.causes(&claim, last, judged.verdict, &scored, &now.as_of)?;
            report.changed.push(ClaimChange {
                id: it.id,
                statement: it.claim.statement.clone(),
                wording: it.claim.wording.clone(),
                before: last.verdict.clone(),
                after: answer.verdict.clone(),
                sentence: answer.sentence.clone(),
                causes: causes.clone(),
            });
            new.push((it.id, verdict(&answer, known, causes)?));
        }
        if !new.is_empty() {
            self.writer()?.add_verdicts(&new)?;
        }
        Ok(report)
    }

    /// Withdraws a claim; it stays to be read.
    ///
    /// # Errors
    /// For a number that no claim has, or when the catalogue cannot be written.
    pub fn withdraw_claim(&self, request: &ClaimWithdrawRequest) -> Result<ClaimWithdrawn, Error> {
        self.stored(request.id)?;
        let changed =
            self.writer()?.withdraw_claim(request.id, request.reason.trim(), &clock::now())?;
        Ok(ClaimWithdrawn { id: request.id, changed })
    }

    /// The stored claim of a number.
    pub(super) fn stored(&self, id: u32) -> Result<catalog::Claim, Error> {
        let all = self.reader().claims()?;
        let ids = all.iter().map(|it| it.id);
        let accepted = match (ids.clone().min(), ids.max()) {
            (Some(low), Some(high)) => format!("a number from {low} to {high}"),
            _ => "no number: there are no claims yet".into(),
        };
        all.into_iter()
            .find(|it| it.id == id)
            .ok_or_else(|| Error::request("claim", &id.to_string(), "is no claim", accepted))
    }
}

fn stands(it: &catalog::Claim) -> bool {
    it.withdrawn.is_none() && it.replaced_by.is_none()
}

/// What verdicts rest on now.
struct Now<'a> {
    scored: &'a Scored,
    known: catalog::Known,
    as_of: String,
}

impl Now<'_> {
    /// Whether a verdict knew something else.
    fn differs(&self, it: &ClaimVerdict) -> Result<bool, Error> {
        Ok(it.known != self.known
            || it.as_of != self.as_of
            || it.rubric != self.scored.rubric
            || it.plugins != plugins(&self.scored.plugins)?)
    }
}

fn plugins(used: &[crate::dto::PluginUsed]) -> Result<String, Error> {
    serde_json::to_string(used).map_err(|why| Error::Internal(why.to_string()))
}

fn verdict(
    it: &ClaimJudgement,
    known: catalog::Known,
    causes: Vec<String>,
) -> Result<ClaimVerdict, Error> {
    Ok(ClaimVerdict {
        judged_at: clock::now(),
        as_of: it.as_of.clone(),
        verdict: it.verdict.clone(),
        answer: serde_json::to_string(it).map_err(|why| Error::Internal(why.to_string()))?,
        rubric: it.rubric.clone(),
        plugins: plugins(&it.plugins)?,
        seed: it.seed,
        known,
        causes,
    })
}

fn answer(it: &ClaimVerdict) -> Result<serde_json::Value, Error> {
    serde_json::from_str(&it.answer).map_err(|why| Error::Internal(why.to_string()))
}

fn text_of(it: &ClaimVerdict, key: &str) -> Result<String, Error> {
    Ok(answer(it)?.get(key).and_then(|it| it.as_str()).unwrap_or_default().to_owned())
}

fn stored(it: &catalog::Claim, now: &Now<'_>) -> Result<StoredClaim, Error> {
    let mut verdicts = Vec::with_capacity(it.verdicts.len());
    for of in it.verdicts.iter().rev() {
        verdicts.push(ClaimVerdictDto {
            judged_at: of.judged_at.clone(),
            as_of: of.as_of.clone(),
            verdict: of.verdict.clone(),
            sentence: text_of(of, "sentence")?,
            rubric: of.rubric.clone(),
            seed: of.seed,
            causes: of.causes.clone(),
        });
    }
    let (mut interval, mut may_have_changed) = (None, false);
    if let Some(last) = it.verdicts.last() {
        let of = answer(last)?;
        interval = of.get("interval").and_then(|it| it.get("text")?.as_str()).map(str::to_owned);
        may_have_changed = stands(it) && now.differs(last)?;
    }
    let (withdrawn_at, withdrawn_because) = it.withdrawn.clone().unzip();
    let changed = match &verdicts[..] {
        [last, before, ..] => last.verdict != before.verdict,
        _ => false,
    };
    Ok(StoredClaim {
        id: it.id,
        statement: it.claim.statement.clone(),
        family: Claim::parse(&it.claim.statement)
            .map(|it| it.kind.family().word().to_owned())
            .unwrap_or_default(),
        wording: it.claim.wording.clone(),
        author: it.claim.author.clone(),
        made_at: it.claim.made_at.clone(),
        replaces: it.claim.replaces,
        replaced_by: it.replaced_by,
        withdrawn_at,
        withdrawn_because,
        sentence: verdicts.first().map(|it| it.sentence.clone()).unwrap_or_default(),
        verdicts,
        interval,
        may_have_changed,
        changed,
    })
}
