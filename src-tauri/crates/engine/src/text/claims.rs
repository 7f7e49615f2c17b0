//! Claims as pages.

use export::{Column, Table};

use super::{Page, remarks};
use crate::{
    band::percent,
    dto::{
        ClaimAdded, ClaimFinding, ClaimJudgement, ClaimList, ClaimWithdrawn, ClaimsRejudged,
        DraftClaim, DraftReport,
    },
};

/// A claim put to the test.
#[must_use]
pub fn claim(it: &ClaimJudgement, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&it.statement);
    judgement(&mut page, it);
    page.text
}

/// A claim that was stored.
#[must_use]
pub fn claim_added(it: &ClaimAdded, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&format!("Claim {}: {}", it.id, it.judgement.statement));
    judgement(&mut page, &it.judgement);
    page.text
}

fn judgement(page: &mut Page, it: &ClaimJudgement) {
    let leans = match it.leans.as_deref() {
        Some("for") => " (leans for it)",
        Some(_) => " (leans against it)",
        None => "",
    };
    page.line(&format!("{}{leans}. {}", sentence_case(&it.verdict), it.why));
    page.part();
    page.line(&format!("May be printed: {}", it.sentence));
    page.part();
    let mut numbers = vec![format!("n {}", it.n)];
    numbers.extend(it.p.map(|p| format!("probability {}", percent(p))));
    numbers.extend(it.interval.as_ref().map(|it| format!("{} (90 %)", it.text)));
    numbers.push(format!("prices of {}", it.as_of));
    numbers.push(format!("seed {}", it.seed));
    page.line(&format!("{}.", numbers.join(", ")));
    let labels: Vec<&str> = it.deciding.iter().map(|it| it.label.as_str()).collect();
    if !labels.is_empty() {
        page.line(&format!("Decided by {}.", labels.join(", ")));
    }
    list(page, "Findings that decide", &it.findings);
    list(page, "Rests on what was claimed or inferred", &it.inferred);
    if !it.flips.is_empty() {
        page.part();
        page.line("What would flip it:");
        for flip in &it.flips {
            page.line(&format!("  {flip}"));
        }
    }
    for out in &it.left_out {
        page.line(out);
    }
    page.table_part(&remarks("Remarks", &it.remarks));
}

fn list(page: &mut Page, title: &str, findings: &[ClaimFinding]) {
    if findings.is_empty() {
        return;
    }
    let names: Vec<String> = findings
        .iter()
        .map(|it| match &it.product {
            Some(product) => format!("{} of {product}", it.label),
            None => it.label.clone(),
        })
        .collect();
    page.line(&format!("{title}: {}.", names.join("; ")));
}

fn sentence_case(word: &str) -> String {
    let mut letters = word.chars();
    let first = letters.next().map(|it| it.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}", letters.as_str())
}

/// The claims of a catalogue.
#[must_use]
pub fn claims(report: &ClaimList, width: usize) -> String {
    let mut page = Page::new(width);
    if report.claims.is_empty() {
        page.line("No claim is stored yet.");
        return page.text;
    }
    let columns = vec![
        Column::numbers("number", ""),
        Column::words("verdict").whole(),
        Column::words("since").whole(),
        Column::prose("claim"),
    ];
    let mut table = Table::new("Claims", columns);
    for it in &report.claims {
        let verdict = it.verdicts.first();
        let mark = if it.withdrawn_at.is_some() {
            "withdrawn".to_owned()
        } else if let Some(by) = it.replaced_by {
            format!("replaced by {by}")
        } else {
            verdict.map(|it| it.verdict.clone()).unwrap_or_default()
        };
        let mark = if it.may_have_changed { format!("{mark}, to be judged again") } else { mark };
        let day = verdict.and_then(|it| it.judged_at.split('T').next()).unwrap_or_default();
        let said = if it.wording.is_empty() { &it.statement } else { &it.wording };
        table.push([&it.id.to_string(), &mark, day, said.as_str()]);
    }
    page.table(&table);
    page.text
}

/// All claims judged again.
#[must_use]
pub fn claims_rejudged(report: &ClaimsRejudged, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&format!(
        "{} judged, {} as before, {} changed.",
        crate::error::count(report.judged as usize, "claim"),
        report.unchanged,
        report.changed.len()
    ));
    for it in &report.changed {
        page.part();
        let said = if it.wording.is_empty() { &it.statement } else { &it.wording };
        page.line(&format!("Claim {}: {said}", it.id));
        if it.before == it.after {
            page.line(&format!("  {} as before; the sentence is another.", it.after));
        } else {
            page.line(&format!("  {}, before {}.", it.after, it.before));
        }
        page.line(&format!("  May be printed: {}", it.sentence));
        for cause in &it.causes {
            page.line(&format!("  {cause}"));
        }
    }
    for it in &report.unreadable {
        page.line(it);
    }
    page.text
}

/// A claim that was withdrawn.
#[must_use]
pub fn claim_withdrawn(it: &ClaimWithdrawn, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&if it.changed {
        format!("Claim {} is withdrawn; it stays to be read.", it.id)
    } else {
        format!("Claim {} was withdrawn already.", it.id)
    });
    page.text
}

/// A draft with its claims.
#[must_use]
pub fn draft(report: &DraftReport, width: usize) -> String {
    let mut page = Page::new(width);
    if report.claims.is_empty() {
        page.line("The draft has no claims. One stands in a comment after its sentence: <!-- claim: best product=maker/model -->");
        return page.text;
    }
    for it in &report.claims {
        of_draft(&mut page, it);
        page.text.push('\n');
    }
    let counts: Vec<String> =
        report.counts.iter().map(|(verdict, count)| format!("{count} {verdict}")).collect();
    page.line(&format!(
        "{}: {}.",
        crate::error::count(report.claims.len(), "claim"),
        counts.join(", ")
    ));
    page.text
}

fn of_draft(page: &mut Page, it: &DraftClaim) {
    if !it.wording.is_empty() {
        page.line(&format!("line {}: {}", it.line, it.wording));
        page.line(&format!("  {}", it.reference));
    } else {
        page.line(&format!("line {}: {}", it.line, it.reference));
    }
    if let Some(fault) = &it.fault {
        page.line(&format!("  not understood: {fault}"));
    }
    if let Some(judged) = &it.judgement {
        let interval =
            judged.interval.as_ref().map(|it| format!("; {} (90 %)", it.text)).unwrap_or_default();
        page.line(&format!("  {}; n {}{interval}", judged.verdict, judged.n));
        page.line(&format!("  May be printed: {}", judged.sentence));
        for flip in judged.flips.iter().take(2) {
            page.line(&format!("  {flip}"));
        }
    }
}
