//! What is taken back holds no more, what is done again holds again, and the journal keeps all of it.

use domain::{
    dictionary::Dictionary,
    dossier::{Dossier, Job},
    evidence::Evidence,
    finding::{Answer, Declared, Finding, Value},
    key::ProductKey,
    part::{Part, Role},
    product::{Acquired, Product, ProductKind, Specimen, Teardown},
};
use proptest::prelude::*;

use super::*;
use crate::{ChangeSet, Fact, Info, Place, unwatched};

fn key() -> ProductKey {
    ProductKey::parse("quill/fern").unwrap()
}

fn finding(key: &str, count: u32) -> Finding {
    Finding {
        part: Part::first(Role::Cabinet),
        key: key.into(),
        typed: count.to_string(),
        unit: String::new(),
        answer: Answer::Value(Value::Count(count)),
        evidence: Evidence::Inspected,
        note: String::new(),
        date: "2026-06-02".parse().unwrap(),
        declared: Declared::Standard,
    }
}

fn dossier(findings: Vec<Finding>) -> Dossier {
    Dossier {
        product: Product {
            key: key(),
            maker: "Quill".into(),
            model: "Fern".into(),
            kind: ProductKind::StandMount,
            ways: 2,
            powered: false,
            year: 2021,
            note: String::new(),
        },
        prices: Vec::new(),
        specimens: vec![Specimen {
            label: "A".into(),
            acquired: Acquired::Retail,
            serial: String::new(),
        }],
        stated: Vec::new(),
        jobs: vec![Job {
            teardown: Teardown {
                specimen: "A".into(),
                date: "2026-06-02".parse().unwrap(),
                note: String::new(),
            },
            findings,
            network: Vec::new(),
            sweeps: Vec::new(),
        }],
    }
}

struct Bench {
    _folder: tempfile::TempDir,
    catalog: Catalog,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let info = Info {
            title: "bench".into(),
            currency: "USD".into(),
            base_month: "2026-06".into(),
            note: String::new(),
        };
        let catalog = Catalog::create(&folder.path().join("bench.boxworth"), &info).unwrap();
        Bench { _folder: folder, catalog }
    }

    fn record(&mut self, of: &str, count: u32) {
        self.catalog
            .record(&dossier(vec![finding(of, count)]), "seen", "2026-06-02T10:00:00Z")
            .unwrap();
    }

    fn empty(&mut self, of: &str) -> bool {
        let key = key();
        let place = Place {
            product: &key,
            teardown: Some(("A", "2026-06-02".parse().unwrap())),
            part: Part::first(Role::Cabinet),
            key: of,
            claimed: false,
        };
        self.catalog.withdraw(&place, "mistaken", "2026-06-02T10:00:00Z").unwrap()
    }

    fn undo(&mut self) -> Option<Reverted> {
        self.catalog.undo("2026-06-02T11:00:00Z").unwrap()
    }

    fn redo(&mut self) -> Option<Reverted> {
        self.catalog.redo("2026-06-02T12:00:00Z").unwrap()
    }

    /// What holds, by key.
    fn holds(&self) -> Vec<(String, String)> {
        let dictionary = Dictionary::standard();
        let Some(it) = self.catalog.reader().dossier(&key(), &dictionary).unwrap() else {
            return Vec::new();
        };
        let mut list: Vec<_> = it.findings().map(|it| (it.key.clone(), it.typed.clone())).collect();
        list.sort();
        list
    }

    fn journal(&self) -> Vec<ChangeSet> {
        self.catalog.reader().changes_since(0, &Dictionary::standard()).unwrap()
    }
}

fn one(of: &str, count: &str) -> Vec<(String, String)> {
    vec![(of.into(), count.into())]
}

#[test]
fn a_correction_is_taken_back_and_done_again() {
    let mut it = Bench::new();
    it.record("brace_count", 2);
    it.record("brace_count", 3);
    assert_eq!(it.holds(), one("brace_count", "3"));
    let back = it.undo().unwrap();
    assert_eq!((back.action, back.reason.as_str(), back.changes), (Action::Record, "seen", 1));
    assert_eq!(it.holds(), one("brace_count", "2"));
    assert!(it.undo().is_some());
    assert_eq!(it.holds(), []);
    assert_eq!(it.undo(), None);
    assert!(it.redo().is_some());
    assert_eq!(it.holds(), one("brace_count", "2"));
    let again = it.redo().unwrap();
    assert_eq!((again.action, again.reason.as_str()), (Action::Record, "seen"));
    assert_eq!(it.holds(), one("brace_count", "3"));
    assert_eq!(it.redo(), None);
    // And once more, through the entries that the first round left.
    assert!(it.undo().is_some() && it.undo().is_some());
    assert_eq!(it.holds(), []);
    assert!(it.redo().is_some() && it.redo().is_some());
    assert_eq!(it.holds(), one("brace_count", "3"));
}

#[test]
fn a_new_action_ends_what_could_be_done_again() {
    let mut it = Bench::new();
    it.record("brace_count", 2);
    assert!(it.undo().is_some());
    it.record("brace_count", 4);
    assert_eq!(it.redo(), None);
    assert_eq!(it.holds(), one("brace_count", "4"));
    assert!(it.undo().is_some());
    assert_eq!(it.holds(), []);
}

#[test]
fn an_emptied_place_is_filled_again_by_undo_and_by_a_new_entry() {
    let mut it = Bench::new();
    it.record("brace_count", 2);
    assert!(it.empty("brace_count"));
    assert!(!it.empty("brace_count"));
    assert_eq!(it.holds(), []);
    it.record("brace_count", 2);
    assert_eq!(it.holds(), one("brace_count", "2"));
    assert!(it.undo().is_some());
    assert_eq!(it.holds(), []);
    assert!(it.undo().is_some());
    assert_eq!(it.holds(), one("brace_count", "2"));
}

#[test]
fn an_import_is_taken_back_as_a_whole() {
    let mut it = Bench::new();
    let two = dossier(vec![finding("brace_count", 2), finding("port_n", 1)]);
    it.catalog.import(&[two], None, "2026-06-02T09:00:00Z", false, &mut unwatched).unwrap();
    assert_eq!(it.holds().len(), 2);
    assert_eq!(it.undo().unwrap().changes, 2);
    assert_eq!(it.holds(), []);
    assert!(it.redo().is_some());
    assert_eq!(it.holds().len(), 2);
}

#[test]
fn the_journal_says_what_held_before_and_since() {
    let mut it = Bench::new();
    it.record("brace_count", 2);
    it.record("brace_count", 2);
    it.record("brace_count", 3);
    assert!(it.undo().is_some());
    let typed = |it: &Option<Fact>| match it {
        Some(Fact::Finding(it)) => it.typed.clone(),
        other => format!("{other:?}"),
    };
    let lines: Vec<String> = it
        .journal()
        .iter()
        .map(|set| {
            let change = &set.changes[0];
            let (before, after) = (typed(&change.before), typed(&change.after));
            format!("{} {before} {after} {:?}", set.action.word(), set.reverts)
        })
        .collect();
    // What changed nothing left no entry.
    assert_eq!(lines, ["record None 2 None", "record 2 3 None", "undo 3 2 Some(2)"]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Against a list of states with a place in it: whatever was done, undo and redo walk through the states.
    #[test]
    fn undo_and_redo_walk_through_the_states(actions in prop::collection::vec(0_u32..8, 1..24)) {
        let mut it = Bench::new();
        let keys = ["brace_count", "port_n"];
        let (mut states, mut at) = (vec![it.holds()], 0_usize);
        for action in actions {
            match action {
                0 => {
                    prop_assert_eq!(it.undo().is_some(), at > 0);
                    at = at.saturating_sub(1);
                }
                1 => {
                    prop_assert_eq!(it.redo().is_some(), at + 1 < states.len());
                    at = (at + 1).min(states.len() - 1);
                }
                other => {
                    let of = keys[other as usize % 2];
                    if other < 4 {
                        it.empty(of);
                    } else {
                        it.record(of, other / 2);
                    }
                    let now = it.holds();
                    // What changes nothing is no action.
                    if now != states[at] {
                        states.truncate(at + 1);
                        states.push(now);
                        at += 1;
                    }
                }
            }
            prop_assert_eq!(&it.holds(), &states[at]);
        }
    }
}
