//! Changes of the method: settings of the ranking, and the plugins that scored.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use super::{Sides, change};
use crate::dto::EditionChange;

/// Settings and plugins.
pub(super) fn method(list: &mut Vec<EditionChange>, of: &Sides<'_>) {
    let now = serde_json::to_value(of.results_after).unwrap_or_default();
    let then = &of.results_before["band"];
    for (place, name) in [
        ("/rubric", "the rubric"),
        ("/weights", "the weights"),
        ("/seed", "the seed"),
        ("/draws", "the number of draws"),
        ("/finding_draws", "the number of draws of the findings"),
        ("/kappa", "the concentration of the weights"),
        ("/spreads", "how far findings are taken to be off"),
        ("/gates", "the limits of what is said"),
        ("/band/base_month", "the month whose money is meant"),
        ("/as_of", "the day of prices"),
    ] {
        let (before, after) = (then.pointer(place), now.pointer(place));
        let (Some(before), Some(after)) = (before, after) else { continue };
        if before == after {
            continue;
        }
        let only = |of: &Value, other: &Value| told(of, other, place);
        let (was, is) = (only(before, after), only(after, before));
        let text = format!("Method, {name}: {is}; before: {was}.");
        let key = place.rsplit('/').next().unwrap_or_default();
        list.push(change("method", "", key.into(), &was, &is, text));
    }
    let used = |of: &Value| -> BTreeMap<String, (String, String)> {
        let word = |it: &Value, key: &str| it[key].as_str().unwrap_or_default().to_owned();
        let list = of["plugins"].as_array().into_iter().flatten();
        list.map(|it| (word(it, "id"), (word(it, "sha256"), word(it, "version")))).collect()
    };
    let (before, after) = (used(then), used(&now));
    let ids: BTreeSet<&String> = before.keys().chain(after.keys()).collect();
    for id in ids {
        let text = match (before.get(id), after.get(id)) {
            (Some(was), Some(is)) if was.0 == is.0 => continue,
            (Some(was), Some(is)) if was.1 == is.1 => {
                format!("another file of version {}; its hash is in the method", is.1)
            }
            (Some(was), Some(is)) => {
                format!("version {}, before {}; its hash is in the method", is.1, was.1)
            }
            (None, _) => "takes part now".to_owned(),
            (_, None) => "no longer takes part".to_owned(),
        };
        let version = |it: Option<&(String, String)>| it.map(|it| it.1.clone()).unwrap_or_default();
        let (was, is) = (version(before.get(id)), version(after.get(id)));
        let text = format!("Method, the scoring plugin {id}: {text}.");
        list.push(change("method", "", "plugins".into(), &was, &is, text));
    }
}

/// A setting as words; of several named ones those that are others, of weights all, since they sum to one.
fn told(it: &Value, other: &Value, place: &str) -> String {
    let is_weights = place == "/weights";
    match it {
        Value::String(it) => it.clone(),
        Value::Object(named) => {
            let named =
                named.iter().filter(|(name, it)| is_weights || other[name.as_str()] != **it);
            let one = |(name, it): (&String, &Value)| {
                let name = name.replace('_', " ");
                match it.as_f64() {
                    Some(share) if is_weights => format!("{name} {:.0} %", share * 100.0),
                    Some(share) if place == "/spreads" => {
                        format!("{name} {} %", crate::text::measure(share * 100.0))
                    }
                    _ => format!("{name} {it}"),
                }
            };
            let texts: Vec<String> = named.map(one).collect();
            if texts.is_empty() { "none".to_owned() } else { texts.join(", ") }
        }
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn of_settings_with_names_those_that_are_others_are_told() {
        let (was, is) =
            (json!({ "seen": 0.05, "judged": 0.25 }), json!({ "seen": 0.05, "judged": 0.3 }));
        assert_eq!(told(&is, &was, "/spreads"), "judged 30 %");
        assert_eq!(told(&is, &was, "/gates"), "judged 0.3");
        let (was, is) =
            (json!({ "cabinet": 0.25, "driver": 0.75 }), json!({ "cabinet": 0.25, "driver": 0.7 }));
        assert_eq!(told(&is, &was, "/weights"), "cabinet 25 %, driver 70 %");
    }
}
