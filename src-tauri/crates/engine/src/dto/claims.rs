//! The answers about claims: what may be said, what became of what was said, and a draft with claims in it.

use std::collections::BTreeMap;

use super::{PluginUsed, Remark, answer};

answer! {
    /// A claim put to the test.
    pub struct ClaimJudgement {
        /// The claim in its canonical form.
        pub statement: String,
        /// The family: `superlative`, `comparative`, `prevalence`, `threshold`, `typical`, `value`, `association`.
        pub family: String,
        /// `supported`, `not supported`, `contradicted`, `too few data` or `depends on inferred findings`.
        pub verdict: String,
        /// The sentence that may be printed.
        pub sentence: String,
        /// Why the verdict is this one, in a sentence.
        pub why: String,
        /// How many products it rests on.
        pub n: u32,
        /// The probability that the claim holds, where draws decided.
        pub p: Option<f64>,
        /// The 90 % interval of what is claimed about, where there is one.
        pub interval: Option<ClaimInterval>,
        /// `for` or `against` where nothing is settled and it leans so.
        pub leans: Option<String>,
        /// Whether other draws could have decided otherwise.
        pub borderline: bool,
        /// The products that decide, the weightiest first.
        pub deciding: Vec<ClaimProduct>,
        /// The findings that decide.
        pub findings: Vec<ClaimFinding>,
        /// The soft findings without which it is open, the weightiest first; empty unless it depends on such.
        pub inferred: Vec<ClaimFinding>,
        /// What would flip the verdict, one sentence each.
        pub flips: Vec<String>,
        /// What is left out of the scope, one sentence each.
        pub left_out: Vec<String>,
        /// The day for which prices were taken.
        pub as_of: String,
        /// The rubrics that scored.
        pub rubric: String,
        /// The share of each subsystem in the index.
        pub weights: BTreeMap<String, f64>,
        /// The plugins that scored.
        pub plugins: Vec<PluginUsed>,
        /// The seed of the draws.
        pub seed: u32,
        /// The number of draws.
        pub draws: u32,
        /// What failed on the way.
        pub remarks: Vec<Remark>,
    }
}

answer! {
    /// An interval of a claim.
    pub struct ClaimInterval {
        /// The low end.
        pub low: f64,
        /// The high end.
        pub high: f64,
        /// The unit; empty for none.
        pub unit: String,
        /// What it is of: `place`, `difference`, `share`, `value`, `percentile`, `value points`, `tau`.
        pub of: String,
        /// Both ends with the unit, as they are printed.
        pub text: String,
    }
}

answer! {
    /// A product that decides a claim.
    pub struct ClaimProduct {
        /// The key.
        pub product: String,
        /// Maker and model.
        pub label: String,
    }
}

answer! {
    /// A finding that decides a claim.
    pub struct ClaimFinding {
        /// The product's key; null for a finding of all.
        pub product: Option<String>,
        /// The address.
        pub finding: String,
        /// Its name.
        pub label: String,
    }
}

answer! {
    /// A stored claim with its last verdict.
    pub struct StoredClaim {
        /// Its number.
        pub id: u32,
        /// The canonical form.
        pub statement: String,
        /// The family.
        pub family: String,
        /// The author's sentence; may be empty.
        pub wording: String,
        /// Who says so; may be empty.
        pub author: String,
        /// When it was made, UTC.
        pub made_at: String,
        /// The claim whose place it took.
        pub replaces: Option<u32>,
        /// The claim that took its place.
        pub replaced_by: Option<u32>,
        /// When it was withdrawn.
        pub withdrawn_at: Option<String>,
        /// Why it was withdrawn.
        pub withdrawn_because: Option<String>,
        /// Its verdicts, newest first.
        pub verdicts: Vec<ClaimVerdictDto>,
        /// The last verdict's sentence.
        pub sentence: String,
        /// The last verdict's interval as printed; null for none.
        pub interval: Option<String>,
        /// Whether the catalogue, the rubric, the plugins or the day changed since the last verdict, so that it may be another.
        pub may_have_changed: bool,
        /// Whether the last verdict is another than the one before.
        pub changed: bool,
    }
}

answer! {
    /// One verdict of a stored claim.
    pub struct ClaimVerdictDto {
        /// When, UTC.
        pub judged_at: String,
        /// The day for which prices were taken.
        pub as_of: String,
        /// The verdict.
        pub verdict: String,
        /// The sentence that might be printed.
        pub sentence: String,
        /// The rubrics that scored.
        pub rubric: String,
        /// The seed of the draws.
        pub seed: u32,
        /// What changed it since the one before, one sentence each.
        pub causes: Vec<String>,
    }
}

answer! {
    /// The claims of a catalogue.
    pub struct ClaimList {
        /// The claims, newest first.
        pub claims: Vec<StoredClaim>,
        /// How many stand at each verdict; those withdrawn or replaced are not counted.
        pub counts: BTreeMap<String, u32>,
    }
}

answer! {
    /// A claim that was stored, with its first verdict.
    pub struct ClaimAdded {
        /// Its number.
        pub id: u32,
        /// What became of it.
        pub judgement: ClaimJudgement,
    }
}

answer! {
    /// All claims judged again.
    pub struct ClaimsRejudged {
        /// How many were judged.
        pub judged: u32,
        /// How many stay as they were.
        pub unchanged: u32,
        /// Those whose verdict or sentence changed.
        pub changed: Vec<ClaimChange>,
        /// Claims that can no longer be read, one sentence each; their last verdicts stand.
        pub unreadable: Vec<String>,
    }
}

answer! {
    /// A claim whose verdict or sentence changed.
    pub struct ClaimChange {
        /// Its number.
        pub id: u32,
        /// The canonical form.
        pub statement: String,
        /// The author's sentence; may be empty.
        pub wording: String,
        /// The verdict before.
        pub before: String,
        /// The verdict now.
        pub after: String,
        /// The sentence that may be printed now.
        pub sentence: String,
        /// What changed it, one sentence each.
        pub causes: Vec<String>,
    }
}

answer! {
    /// A claim that was withdrawn.
    pub struct ClaimWithdrawn {
        /// Its number.
        pub id: u32,
        /// Whether it had not been withdrawn before.
        pub changed: bool,
    }
}

answer! {
    /// A draft with the claims in it.
    pub struct DraftReport {
        /// The claims in the order of the draft.
        pub claims: Vec<DraftClaim>,
        /// How many there are of each verdict, and under `not understood` of those that cannot be read.
        pub counts: BTreeMap<String, u32>,
        /// Whether one is contradicted or cannot be read: such a draft should not be printed.
        pub refused: bool,
    }
}

answer! {
    /// A claim of a draft.
    pub struct DraftClaim {
        /// The line on which it stands, from 1.
        pub line: u32,
        /// The sentence before it in the draft; may be empty.
        pub wording: String,
        /// The claim as it stands there.
        pub reference: String,
        /// The number of the stored claim that it refers to.
        pub stored: Option<u32>,
        /// What became of it; null where it cannot be read.
        pub judgement: Option<ClaimJudgement>,
        /// Why it cannot be read.
        pub fault: Option<String>,
    }
}

answer! {
    /// What claims can be made of: for a form that is filled by choosing.
    pub struct ClaimForms {
        /// The kinds of claims, in the order of a form.
        pub kinds: Vec<ClaimKindDto>,
        /// What can be compared: the index, the subsystems, and numbers.
        pub attributes: Vec<ClaimAttribute>,
        /// What a property can be about.
        pub findings: Vec<ClaimPropertyOf>,
        /// The products, by label.
        pub products: Vec<ClaimProduct>,
        /// The kinds of products.
        pub product_kinds: Vec<String>,
    }
}

answer! {
    /// A kind of claim.
    pub struct ClaimKindDto {
        /// Its word.
        pub word: String,
        /// What it says, for people.
        pub label: String,
        /// The family.
        pub family: String,
        /// The keys that it takes.
        pub keys: Vec<ClaimKeyDto>,
    }
}

answer! {
    /// A key of a kind of claim.
    pub struct ClaimKeyDto {
        /// The key.
        pub key: String,
        /// Whether it must be there.
        pub needed: bool,
    }
}

answer! {
    /// Something that can be compared.
    pub struct ClaimAttribute {
        /// What stands after `of=`.
        pub id: String,
        /// Its name.
        pub label: String,
        /// Its unit; `points` for scores, empty for counts.
        pub unit: String,
        /// `score`, `subsystem`, `quantity` or `finding`.
        pub group: String,
    }
}

answer! {
    /// Something that a property can be about.
    pub struct ClaimPropertyOf {
        /// The address of the finding or the id of the quantity.
        pub id: String,
        /// Its name.
        pub label: String,
        /// The comparisons it takes.
        pub operators: Vec<String>,
        /// The words it takes; empty for a number or free text.
        pub choices: Vec<String>,
        /// The unit of a number; empty for none.
        pub unit: String,
    }
}
