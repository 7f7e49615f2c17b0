//! A draft review with claims in it.
//!
//! A claim stands in an HTML comment, which Markdown renders as nothing: `<!-- claim: best product=maker/model -->` after the sentence
//! it is about, or `<!-- claim 7 -->` for the stored claim of that number. Comments inside code are code, and left alone.

use std::collections::BTreeMap;

use pulldown_cmark::{Event, Parser, Tag};
use serde::Deserialize;

use super::{judged::Terms, parsed};
use crate::{
    Engine, Error,
    dto::{ClaimJudgement, DraftClaim, DraftReport},
};
use domain::claim::Claim;

/// A draft to be checked.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct DraftRequest {
    /// The draft, Markdown.
    pub text: String,
    /// The seed of the draws; 0 when absent.
    pub seed: Option<u32>,
}

/// The longest draft, bytes.
const MAX_DRAFT: usize = 2_000_000;
/// The most claims of a draft.
const MAX_CLAIMS: usize = 500;

/// A claim where it stands.
#[derive(Debug, PartialEq)]
struct Place {
    line: u32,
    wording: String,
    reference: String,
}

impl Engine {
    /// Judges each claim of a draft; nothing is stored.
    ///
    /// # Errors
    /// When the draft is too long, or the catalogue cannot be read. A claim that is not understood is told at its line.
    pub fn check_draft(&self, request: &DraftRequest) -> Result<DraftReport, Error> {
        if request.text.len() > MAX_DRAFT {
            let accepted = format!("at most {MAX_DRAFT} bytes");
            return Err(Error::request("draft", "the draft", "is too long", accepted));
        }
        let places = places(&request.text);
        if places.len() > MAX_CLAIMS {
            let accepted = format!("at most {MAX_CLAIMS} claims");
            return Err(Error::request(
                "draft",
                &places.len().to_string(),
                "claims are too many",
                accepted,
            ));
        }
        let terms = Terms { seed: request.seed.unwrap_or(0), draws: None, flips: true };
        let mut claims = Vec::with_capacity(places.len());
        let mut counts = BTreeMap::new();
        for it in places {
            let mut stored = None;
            let judged = self.referred(&it.reference, &mut stored).and_then(|claim| {
                let (scored, hard) = self.scored_for(&claim)?;
                Ok(self.judged(&claim, &scored, &hard, terms)?.answer)
            });
            let (judgement, fault): (Option<ClaimJudgement>, _) = match judged {
                Ok(it) => (Some(it), None),
                // What is wrong with the claim is told at its line; what is wrong with the catalogue ends the check.
                Err(why @ (Error::Request { .. } | Error::UnknownProduct { .. })) => {
                    (None, Some(why.to_string()))
                }
                Err(why) => return Err(why),
            };
            let word = judgement.as_ref().map_or("not understood", |it| it.verdict.as_str());
            *counts.entry(word.to_owned()).or_insert(0) += 1;
            claims.push(DraftClaim {
                line: it.line,
                wording: it.wording,
                reference: it.reference,
                stored,
                judgement,
                fault,
            });
        }
        let refused = counts.contains_key("contradicted") || counts.contains_key("not understood");
        Ok(DraftReport { claims, counts, refused })
    }

    /// The claim that a reference names.
    fn referred(&self, reference: &str, stored: &mut Option<u32>) -> Result<Claim, Error> {
        let number = reference.strip_prefix('#').unwrap_or(reference);
        if number.chars().all(|it| it.is_ascii_digit()) && !number.is_empty() {
            let id: u32 = number.parse().map_err(|_| {
                Error::request("claim", number, "is no claim", "the number of a claim")
            })?;
            let it = self.stored(id)?;
            *stored = Some(id);
            if it.withdrawn.is_some() || it.replaced_by.is_some() {
                let by = it.replaced_by.map(|by| format!("; {by} took its place"));
                return Err(Error::request(
                    "claim",
                    number,
                    format!("does not stand any more{}", by.unwrap_or_default()),
                    "the number of a claim that stands",
                ));
            }
            return parsed(&it.claim.statement);
        }
        parsed(reference)
    }
}

/// The claims of a draft with their lines, and the sentences before them.
fn places(text: &str) -> Vec<Place> {
    let mut list = Vec::new();
    let mut words = String::new();
    // Lines are counted on the way, since the parser gives offsets.
    let (mut line, mut counted) = (1_u32, 0_usize);
    for (event, range) in Parser::new(text).into_offset_iter() {
        match event {
            // The parser gives a block line by line; a comment may go over several.
            Event::Start(Tag::HtmlBlock) | Event::InlineHtml(_) => {
                let html = text.get(range.clone()).unwrap_or_default();
                for (at, reference) in references(html) {
                    let offset = range.start + at;
                    let passed = text.get(counted..offset).unwrap_or_default();
                    line += u32::try_from(passed.matches('\n').count()).unwrap_or(0);
                    counted = offset.max(counted);
                    let wording = last_sentence(&words);
                    list.push(Place { line, wording, reference });
                }
            }
            Event::Text(it) | Event::Code(it) => words.push_str(&it),
            Event::SoftBreak | Event::HardBreak => words.push(' '),
            Event::Start(
                Tag::Paragraph
                | Tag::Heading { .. }
                | Tag::Item
                | Tag::TableCell
                | Tag::CodeBlock(_),
            ) => words.clear(),
            _ => {}
        }
    }
    list
}

/// What comments of the form `<!-- claim … -->` say, with where they begin.
fn references(html: &str) -> Vec<(usize, String)> {
    let mut list = Vec::new();
    let mut from = 0;
    while let Some(start) = html[from..].find("<!--") {
        let begin = from + start;
        let Some(length) = html[begin..].find("-->") else { break };
        let inside = html.get(begin + 4..begin + length).unwrap_or_default().trim();
        from = begin + length + 3;
        let Some(rest) = inside.strip_prefix("claim") else { continue };
        // `claimed` is another word.
        let said = match rest.chars().next() {
            Some(':') => rest.get(1..).unwrap_or_default(),
            Some(it) if it.is_whitespace() => rest,
            _ => continue,
        };
        // A comment may be broken over lines.
        let reference = said.split_whitespace().collect::<Vec<_>>().join(" ");
        list.push((begin, reference));
    }
    list
}

/// The last sentence of a text.
fn last_sentence(text: &str) -> String {
    let text = text.trim();
    let body = text.trim_end_matches(['.', '!', '?']);
    let start = [". ", "! ", "? "].iter().filter_map(|end| body.rfind(end).map(|at| at + 2)).max();
    text.get(start.unwrap_or(0)..).unwrap_or_default().trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn claims_are_found_where_markdown_has_comments_and_nowhere_else() {
        let text = "# A guide\n\nIt is good. The *Arbor* is the best.<!-- claim: best product=a/b -->\nAnd\nmore.\n\n\
                    <!-- claim 7 -->\n\n```\n<!-- claim: in code -->\n```\n\nInline `<!-- claim: code -->` too.\n\n\
                    - An item, it is.\n  <!-- claim:\n  most\n  where=a.b=1 --> <!-- claimed elsewhere --> <!-- other -->\n\n\
                    | A | B |\n|---|---|\n| one <!-- claim #3 --> | two |\n";
        let found = places(text);
        let of: Vec<(u32, &str, &str)> =
            found.iter().map(|it| (it.line, it.wording.as_str(), it.reference.as_str())).collect();
        assert_eq!(of[0], (3, "The Arbor is the best.", "best product=a/b"));
        assert_eq!((of[1].0, of[1].2), (7, "7"));
        assert_eq!(of[2], (16, "An item, it is.", "most where=a.b=1"));
        assert_eq!((of[3].0, of[3].2), (22, "#3"));
        assert_eq!(of.len(), 4);
    }

    #[test]
    fn a_sentence_ends_where_one_ends() {
        assert_eq!(last_sentence("One. Two! Three"), "Three");
        assert_eq!(last_sentence(" It costs 1.5 more."), "It costs 1.5 more.");
        assert_eq!(last_sentence(""), "");
    }
}
