//! Changes of what is corrected as a whole: parts lists of crossovers, and sweeps.

use std::collections::BTreeSet;

use domain::{
    Date,
    dossier::{Dossier, Job},
    network::Element,
    sweep::Sweep,
};

use super::{Sides, change, reason};
use crate::{dto::EditionChange, error::count, job};

/// Parts lists of crossovers and sweeps, which are corrected as a whole.
pub(super) fn measured(
    list: &mut Vec<EditionChange>,
    key: &str,
    before: &Dossier,
    after: &Dossier,
    of: &Sides<'_>,
) {
    let name = format!("{} {}", after.product.maker, after.product.model);
    let mut add =
        |address: String, what: &str, was: usize, is: usize, unit: &str, parts: &[String]| {
            let (was_text, is_text) = (count(was, unit), count(is, unit));
            let why = reason(of, key, &address);
            let (kind, text) = match (was, is) {
                (0, _) => ("added", format!("{name}: {what} added, {is_text}.")),
                (_, 0) => ("corrected", format!("{name}: {what} is withdrawn.{why}")),
                _ if parts.is_empty() => {
                    ("corrected", format!("{name}: {what} was corrected ({is_text}).{why}"))
                }
                _ => (
                    "corrected",
                    format!("{name}: {what} was corrected ({}).{why}", parts.join("; ")),
                ),
            };
            list.push(change(kind, key, address, &was_text, &is_text, text));
        };
    let jobs: Vec<&Job> = after.jobs.iter().chain(&before.jobs).collect();
    let mut seen: Vec<(&str, Date)> = Vec::new();
    for job in jobs {
        let place = (job.teardown.specimen.as_str(), job.teardown.date);
        if seen.contains(&place) {
            continue;
        }
        seen.push(place);
        let of_place = |it: &'_ Dossier| job::job(it, place.0, place.1).cloned();
        let (then, now) = (of_place(before), of_place(after));
        let parts = |it: &Option<Job>| it.as_ref().map(|it| it.network.clone()).unwrap_or_default();
        let (was, is) = (parts(&then), parts(&now));
        if was != is {
            let parts = parts_differ(&was, &is);
            let what = "the crossover's list of parts";
            add("crossover.parts".into(), what, was.len(), is.len(), "part", &parts);
        }
        let sweeps = |it: &Option<Job>| it.as_ref().map(|it| it.sweeps.clone()).unwrap_or_default();
        let (was, is) = (sweeps(&then), sweeps(&now));
        let swept: BTreeSet<String> = was.iter().chain(&is).map(|it| it.part.to_string()).collect();
        for part in swept {
            let of_part = |list: &[Sweep]| {
                list.iter().find(|it| it.part.to_string() == part).map(|it| it.points.clone())
            };
            let (was, is) = (of_part(&was).unwrap_or_default(), of_part(&is).unwrap_or_default());
            if was != is {
                let what = format!("the sweep of the {part}");
                add(format!("{part}.sweep"), &what, was.len(), is.len(), "point", &[]);
            }
        }
    }
}

/// Which parts of a list are others: `C1: 3.3 µF, not 4.7 µF`.
fn parts_differ(was: &[Element], is: &[Element]) -> Vec<String> {
    let shown =
        |it: &Element| if it.typed.is_empty() { "a part".to_owned() } else { it.typed.clone() };
    let mut list = Vec::new();
    for now in is {
        match was.iter().find(|it| it.name == now.name) {
            None => list.push(format!("{}: {} added", now.name, shown(now))),
            Some(then) if then.typed != now.typed => {
                list.push(format!("{}: {}, not {}", now.name, shown(now), shown(then)));
            }
            Some(then) if (&then.from, &then.to) != (&now.from, &now.to) => {
                list.push(format!(
                    "{}: between {} and {}, not {} and {}",
                    now.name, now.from, now.to, then.from, then.to
                ));
            }
            Some(then) if then != now => list.push(format!("{}: other particulars", now.name)),
            Some(_) => {}
        }
    }
    let gone = was.iter().filter(|then| !is.iter().any(|it| it.name == then.name));
    list.extend(gone.map(|it| format!("{}: {} withdrawn", it.name, shown(it))));
    list
}

#[cfg(test)]
mod tests {
    use domain::network::ElementKind;

    use super::*;

    fn part(name: &str, typed: &str, to: &str) -> Element {
        Element {
            name: name.into(),
            kind: ElementKind::Capacitor,
            from: "in".into(),
            to: to.into(),
            typed: typed.into(),
            value_si: None,
            loss_typed: String::new(),
            loss_ohm: None,
            tolerance: None,
            construction: String::new(),
            rating_typed: String::new(),
            rating_si: None,
            part: None,
            note: String::new(),
        }
    }

    #[test]
    fn a_corrected_list_names_the_parts_that_are_others() {
        let was = [part("C1", "4.7 µF", "a"), part("C2", "10 µF", "0"), part("C3", "1 µF", "0")];
        let mut loss = part("C3", "1 µF", "0");
        loss.loss_typed = "0.1 ohm".into();
        let is =
            [part("C1", "3.3 µF", "a"), part("C2", "10 µF", "b"), loss, part("C4", "2 µF", "0")];
        let told = [
            "C1: 3.3 µF, not 4.7 µF",
            "C2: between in and b, not in and 0",
            "C3: other particulars",
            "C4: 2 µF added",
        ];
        assert_eq!(parts_differ(&was, &is), told);
        assert_eq!(parts_differ(&was[..1], &[]), ["C1: 4.7 µF withdrawn"]);
        assert!(parts_differ(&was, &was).is_empty());
    }
}
