//! A sheet on the bench: what is typed into it is read by the rules of the dictionary, like anything that is typed.

use domain::{
    Date,
    dictionary::{Dictionary, Kind},
    evidence::Evidence,
    finding::{Answer, Declared, Finding, Gap, read_value},
    part::Part,
};

use crate::{Dice, unreachable};

/// The findings of one job while they are written down.
#[derive(Debug)]
pub(crate) struct Sheet<'d> {
    dictionary: &'d Dictionary,
    date: Date,
    /// The odds that a finding is left out or a gap.
    gaps: f64,
    evidence: Option<Evidence>,
    dice: Dice,
    pub(crate) findings: Vec<Finding>,
}

impl<'d> Sheet<'d> {
    pub(crate) fn new(dictionary: &'d Dictionary, date: Date, gaps: f64, dice: Dice) -> Self {
        Sheet { dictionary, date, gaps, evidence: None, dice, findings: Vec::new() }
    }

    /// What the maker says: everything is there, and only claimed.
    pub(crate) fn claimed(dictionary: &'d Dictionary, date: Date, dice: Dice) -> Self {
        Sheet { evidence: Some(Evidence::Claimed), ..Sheet::new(dictionary, date, 0.0, dice) }
    }

    /// A number as an instrument shows it, off by its uncertainty (a share of the value).
    pub(crate) fn number(
        &mut self,
        part: Part,
        key: &str,
        value: f64,
        decimals: usize,
        unit: &str,
        share: Option<f64>,
    ) {
        let read = value * (1.0 + 0.5 * share.unwrap_or(0.0) * self.dice.0.normal());
        let text = format!("{read:.decimals$} {unit}");
        let u = share.map(|share| {
            // Two figures; never below the last digit shown.
            let u = (value * share).max(0.5 * 10.0_f64.powi(-i32::try_from(decimals).unwrap_or(0)));
            format!("{:.*} {unit}", decimals + 1, u)
        });
        self.put(part, key, text.trim(), u.as_deref().map(str::trim));
    }

    pub(crate) fn words(&mut self, part: Part, key: &str, typed: &str) {
        self.put(part, key, typed, None);
    }

    pub(crate) fn flag(&mut self, part: Part, key: &str, is: bool) {
        self.put(part, key, if is { "yes" } else { "no" }, None);
    }

    /// Types a finding once more, as one who misread the unit.
    pub(crate) fn retype(&mut self, part: Part, key: &str, typed: &str) {
        if let Some(at) = self.findings.iter().position(|it| it.part == part && it.key == key) {
            self.findings.remove(at);
            let gaps = std::mem::replace(&mut self.gaps, 0.0);
            self.put(part, key, typed, None);
            self.gaps = gaps;
        }
    }

    fn put(&mut self, part: Part, key: &str, typed: &str, uncertainty: Option<&str>) {
        if self.dice.chance(self.gaps) {
            // Half of what is not known is not even on the sheet.
            if self.dice.chance(0.5) {
                let gap = if self.dice.chance(0.6) { Gap::NotInspected } else { Gap::CouldNotTell };
                self.push(
                    part,
                    key,
                    gap.word(),
                    Answer::Gap(gap),
                    String::new(),
                    Evidence::Inspected,
                );
            }
            return;
        }
        let entry = self.dictionary.entry_for(part, key).unwrap_or_else(|why| unreachable(&why));
        let read = read_value(&entry, typed, uncertainty).unwrap_or_else(|why| unreachable(&why));
        let usual = if matches!(entry.kind, Kind::Number(..)) {
            Evidence::Measured
        } else {
            Evidence::Inspected
        };
        let evidence = self.evidence.unwrap_or(usual);
        self.push(part, key, typed, Answer::Value(read.value), read.unit, evidence);
    }

    fn push(
        &mut self,
        part: Part,
        key: &str,
        typed: &str,
        answer: Answer,
        unit: String,
        evidence: Evidence,
    ) {
        self.findings.push(Finding {
            part,
            key: key.to_owned(),
            typed: typed.to_owned(),
            unit,
            answer,
            evidence,
            note: String::new(),
            date: self.date,
            declared: Declared::Standard,
        });
    }
}
