//! A list of products as JSON-LD with the vocabulary of schema.org.
//!
//! It has no term for a number that two ends leave open, so that intervals are `PropertyValue` with `minValue` and
//! `maxValue`.

use serde_json::{Map, Value, json};

use crate::report::{Item, Property, Report};

/// The items of a report as an `ItemList` in their order.
#[must_use]
pub fn to_json_ld(report: &Report) -> String {
    let items: Vec<Value> = report
        .items
        .iter()
        .enumerate()
        .map(|(at, it)| json!({ "@type": "ListItem", "position": at + 1, "item": product(it, report) }))
        .collect();
    let mut list = json!({
        "@context": "https://schema.org",
        "@type": "ItemList",
        "name": report.title,
        "description": report.subtitle,
        "itemListOrder": "https://schema.org/ItemListOrderDescending",
        "numberOfItems": items.len(),
        "itemListElement": items,
    });
    if let Some(number) = report.edition {
        list["version"] = json!(number);
    }
    // A page may carry the text inside a script element, which `</` could end.
    format!("{}\n", format!("{list:#}").replace("</", "<\\/"))
}

fn product(it: &Item, report: &Report) -> Value {
    let author = if report.author.is_empty() {
        // A review without an author says so; the vocabulary wants one.
        json!({ "@type": "Organization", "name": "not recorded" })
    } else {
        json!({ "@type": "Person", "name": report.author })
    };
    let mut product = json!({
        "@type": "Product",
        "identifier": it.key,
        "name": format!("{} {}", it.maker, it.model),
        "model": it.model,
        "category": it.category,
        "brand": { "@type": "Brand", "name": it.maker },
        "review": {
            "@type": "Review",
            "author": author,
            "datePublished": report.date,
            "reviewRating": {
                "@type": "Rating",
                "ratingValue": rounded(it.rating),
                "bestRating": 100,
                "worstRating": 0,
            },
        },
    });
    if !it.sentences.is_empty() {
        product["review"]["reviewBody"] = json!(it.sentences.join(" "));
    }
    if let Some((amount, currency)) = &it.price {
        product["offers"] = json!({
            "@type": "Offer",
            "price": rounded(*amount),
            "priceCurrency": currency,
            "description": it.price_basis,
        });
    }
    if !it.properties.is_empty() {
        product["additionalProperty"] = it.properties.iter().map(property).collect();
    }
    product
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
