//! A list of products as JSON-LD with the vocabulary of schema.org.
//!
//! It has no term for a number that two ends leave open, so that intervals are `PropertyValue` with `minValue` and
//! `maxValue`.

use serde_json::{Map, Value, json};

use crate::report::{Asked, Item, Property, Report};

/// The items of a report as an `ItemList` in their order.
#[must_use]
pub fn to_json_ld(report: &Report) -> String {
    let items: Vec<Value> = report
        .items
        .iter()
        .enumerate()
        .map(|(at, it)| json!({ "@type": "ListItem", "position": at + 1, "item": product(it, report) }))
        .collect();
    let order = if report.is_ranked { "Descending" } else { "Ascending" };
    let by = if report.is_ranked { "by the middle of the index" } else { "by price" };
    let list = json!({
        "@context": "https://schema.org",
        "@type": "ItemList",
        "name": report.title,
        // No property of a list holds the number of an edition.
        "description": format!("{}. {}, {by}.", report.subtitle, report.dateline()),
        "itemListOrder": format!("https://schema.org/ItemListOrder{order}"),
        "numberOfItems": items.len(),
        "itemListElement": items,
    });
    // A page may carry the text inside a script element, which `</` could end.
    format!("{}\n", format!("{list:#}").replace("</", "<\\/"))
}

fn product(it: &Item, report: &Report) -> Value {
    let mut product = json!({
        "@type": "Product",
        "identifier": it.key,
        "name": format!("{} {}", it.maker, it.model),
        "model": it.model,
        "category": it.category,
        "brand": { "@type": "Brand", "name": it.maker },
        "review": {
            "@type": "Review",
            // The day that it speaks of; when it was published is not known while it is made.
            "temporalCoverage": report.date,
            "reviewRating": {
                "@type": "Rating",
                "ratingValue": it.rating.round(),
                "bestRating": 100,
                "worstRating": 0,
            },
        },
    });
    if !report.author.is_empty() {
        product["review"]["author"] = json!({ "@type": "Person", "name": report.author });
    }
    if !it.rating_note.is_empty() {
        product["review"]["reviewRating"]["ratingExplanation"] = json!(it.rating_note);
    }
    if !it.sentences.is_empty() {
        product["review"]["reviewBody"] = json!(it.sentences.join(" "));
    }
    if let Some(asked) = &it.price {
        product["offers"] = offer(asked);
    }
    if !it.properties.is_empty() {
        product["additionalProperty"] = it.properties.iter().map(property).collect();
    }
    product
}

/// What was asked, for how many, and when.
fn offer(it: &Asked) -> Value {
    let each = if it.count == 1 { "loudspeaker" } else { "loudspeakers" };
    let mut price = json!({
        "@type": "UnitPriceSpecification",
        "price": rounded(it.amount),
        "priceCurrency": it.currency,
        "referenceQuantity": { "@type": "QuantitativeValue", "value": it.count, "unitText": each },
    });
    // A date of the vocabulary is a day; of a month or a year only the words tell.
    if it.date.len() == "YYYY-MM-DD".len() {
        price["validFrom"] = json!(it.date);
    }
    json!({
        "@type": "Offer",
        "description": format!("for {} {each}, asked {}", it.count, it.date),
        "priceSpecification": price,
    })
}

fn property(it: &Property) -> Value {
    let mut map = Map::new();
    map.insert("@type".into(), json!("PropertyValue"));
    map.insert("name".into(), json!(it.name));
    for (name, value) in [("value", it.value), ("minValue", it.low), ("maxValue", it.high)] {
        if let Some(value) = value {
            map.insert(name.into(), json!(rounded(value)));
        }
    }
    if !it.unit.is_empty() {
        map.insert("unitText".into(), json!(it.unit));
    }
    Value::Object(map)
}

/// Two decimals: no index and no price is known more finely.
fn rounded(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}
