//! Changes of what is recorded of a product: its own particulars and its findings.

use domain::{
    dossier::{Dossier, Job},
    finding::Finding,
};

use super::{Sides, change, reason};
use crate::{dto::EditionChange, error::count, naming::named};

/// What is printed of the product itself.
pub(super) fn product(list: &mut Vec<EditionChange>, key: &str, before: &Dossier, after: &Dossier) {
    let (then, now) = (&before.product, &after.product);
    let name = format!("{} {}", now.maker, now.model);
    for (what, was, is) in [
        ("maker", then.maker.clone(), now.maker.clone()),
        ("model", then.model.clone(), now.model.clone()),
        ("kind", then.kind.word().to_owned(), now.kind.word().to_owned()),
        ("ways", then.ways.to_string(), now.ways.to_string()),
        ("year", then.year.to_string(), now.year.to_string()),
    ] {
        if was != is {
            let text = format!("{name}, {what}: {is}, not {was}.");
            list.push(change("corrected", key, what.into(), &was, &is, text));
        }
    }
}

/// Where findings stand: in a teardown, by specimen and day, or among what the maker states.
type Bench = Option<(String, String)>;

/// Findings: another word in the same place is a correction.
pub(super) fn findings(
    list: &mut Vec<EditionChange>,
    key: &str,
    before: &Dossier,
    after: &Dossier,
    of: &Sides<'_>,
) {
    let name = format!("{} {}", after.product.maker, after.product.model);
    let groups = |it: &Dossier| -> Vec<(Bench, Vec<Finding>)> {
        let job = |it: &Job| {
            (
                Some((it.teardown.specimen.clone(), it.teardown.date.to_string())),
                it.findings.clone(),
            )
        };
        std::iter::once((None, it.stated.clone())).chain(it.jobs.iter().map(job)).collect()
    };
    let (before, after) = (groups(before), groups(after));
    let mut added = 0;
    for (place, now) in &after {
        let then = before.iter().find(|(it, _)| it == place).map(|it| &it.1);
        for it in now {
            // In the same place of the same teardown another word is a correction; anywhere else it is new.
            let old = then.and_then(|list| {
                list.iter().find(|old| {
                    old.address() == it.address()
                        && (old.evidence.word() == "claimed") == (it.evidence.word() == "claimed")
                })
            });
            match old {
                Some(old) if old.typed != it.typed || old.evidence != it.evidence => {
                    let what = named(of.dictionary, &it.address());
                    let why = reason(of, key, &it.address());
                    let text = format!(
                        "{name}, {what}: {} ({}), not {} ({}).{why}",
                        it.typed,
                        it.evidence.word(),
                        old.typed,
                        old.evidence.word()
                    );
                    list.push(change("corrected", key, it.address(), &old.typed, &it.typed, text));
                }
                Some(_) => {}
                None => added += 1,
            }
        }
        for old in then.into_iter().flatten() {
            if !now.iter().any(|it| it.address() == old.address()) {
                let what = named(of.dictionary, &old.address());
                let text = format!("{name}, {what}: {} is withdrawn.", old.typed);
                list.push(change("corrected", key, old.address(), &old.typed, "", text));
            }
        }
    }
    for (place, then) in &before {
        let (false, Some((specimen, day))) = (after.iter().any(|(it, _)| it == place), place)
        else {
            continue;
        };
        let held = count(then.len(), "finding");
        let text = format!(
            "{name}: the teardown of specimen {specimen} on {day} is withdrawn, with {held}."
        );
        list.push(change("corrected", key, "teardown".into(), &held, "", text));
    }
    if added > 0 {
        let text = format!("{name}: {} added.", count(added, "finding"));
        list.push(change("added", key, "findings".into(), "", &added.to_string(), text));
    }
}
