//! Writes what the window answers on the seed catalogue into `ui/src/test-fixtures`, where the tests of `ui` read it.
//!
//! Run it when an answer has changed its shape:
//! `xvfb-run -a cargo run -p e2e --example fixtures`

use std::path::Path;

use e2e::{Look, Outcome, Shelf, Window};
use serde_json::{Value, json};

#[tokio::main(flavor = "current_thread")]
async fn main() -> Outcome {
    let shelf = Shelf::seeded()?;
    let window = Window::open(&shelf, Look::default()).await?;
    // A narrow band keeps the file small; it holds products of every sort.
    let asked = json!({ "low": 200, "high": 300 });
    let band = window.ask("band", asked.clone()).await?;
    let bands = window.ask("bands", asked.clone()).await?;
    let keys: Vec<&Value> = band["report"]["standings"]
        .as_array()
        .map(|it| it.iter().take(3).map(|it| &it["product"]).collect())
        .unwrap_or_default();
    let compare = window.ask("compare", json!({ "products": keys })).await?;
    let ranks = window.ask("ranks", asked.clone()).await?;
    let stability = window.ask("stability", asked.clone()).await?;
    let next = window.ask("next", asked.clone()).await?;
    let normal = window.ask("normal", asked.clone()).await?;
    let last = band["report"]["standings"].as_array().and_then(|it| it.last());
    let set = json!({ "cabinet.wall_damping": "damping sheet" });
    let what_if = json!({
        "product": last.map(|it| &it["product"]), "set": set, "price": "219", "band": asked
    });
    let what_if = window.ask("what_if", what_if).await?;
    let product = &band["report"]["standings"][0]["product"];
    let sheet = window.ask("show", json!({ "product": product })).await?;
    // A two-way whose only teardown has a parts list.
    let network = window.ask("network", json!({ "product": "brackenwhistle/chanter-2" })).await?;
    let prices = window.ask("prices", json!({ "product": product })).await?;
    let price = json!({ "product": product, "price": "129 each", "date": "2026-11-20" });
    let price_reading = window.ask("read_price", price.clone()).await?;
    let mut bench = window.ask("bench", json!({ "product": "tarnhollow/scree-6" })).await?;
    // When the seed was imported is nobody's business either.
    if bench["undo"].is_object() {
        bench["undo"]["text"] = json!(
            "The last change is the import of the seed; `boxworth undo` takes it back as a whole."
        );
    }
    let asked_sweep = json!({ "product": "skerrymoor/voe-6", "part": "woofer" });
    let sweep = window.ask("sweep", asked_sweep).await?;
    let mut products =
        window.ask("products", json!({ "band": null, "kind": null, "missing": null })).await?;
    // Where the catalogue was for a moment is nobody's business.
    products["file"] = json!("shelf.boxworth");
    let price_report = window.ask("add_price", price).await?;
    let notes = window.ask("notes", json!({ "products": [] })).await?;
    let mut plugins = window.ask("plugins", json!({})).await?;
    for it in plugins["plugins"].as_array_mut().into_iter().flatten() {
        it["path"] = json!(format!("/programs/{}", it["file"].as_str().unwrap_or_default()));
    }
    let claims = claims(&window).await?;
    window.close().await?;
    write("claims", &claims)?;
    write("band", &band)?;
    write("bands", &bands)?;
    write("compare", &compare)?;
    write("bench", &bench)?;
    write("ranks", &ranks)?;
    write("stability", &stability)?;
    write("next", &next)?;
    write("normal", &normal)?;
    write("what_if", &what_if)?;
    write("sheet", &sheet)?;
    write("network", &network)?;
    write("sweep", &sweep)?;
    write("products", &products)?;
    write("notes", &notes)?;
    write("prices", &prices)?;
    write("price_reading", &price_reading)?;
    write("price_report", &price_report)?;
    write("plugins", &plugins)
}

/// What the commands about claims answer; those that write last.
async fn claims(window: &Window) -> Outcome<Value> {
    let draft = include_str!("../../fixtures/drafts/autumn-guide.md");
    let forms = window.ask("claim_forms", json!({})).await?;
    let claim = "typical product=hobnail-lane/welt-6 of=score band=200..500";
    let judged = window.ask("judge_claim", json!({ "claim": claim })).await?;
    let draft = window.ask("check_draft", json!({ "text": draft })).await?;
    let mut added = Value::Null;
    for (claim, wording) in [
        (
            "best product=thistlequern/grist-6 of=cabinet band=200..500",
            "No cabinet is better made.",
        ),
        (claim, ""),
        ("good-value product=skerrymoor/voe-6 band=200..500", "The Voe 6 is good value."),
    ] {
        let request = json!({ "claim": claim, "wording": wording, "author": "R. Vale" });
        added = window.ask("add_claim", request).await?;
    }
    let withdrawn = window.ask("withdraw_claim", json!({ "id": 1, "reason": "a slip" })).await?;
    let rejudged = window.ask("rejudge_claims", json!({})).await?;
    let list = window.ask("claims", json!({})).await?;
    Ok(json!({
        "claim_forms": forms, "judge_claim": judged, "claims": list, "add_claim": added,
        "rejudge_claims": rejudged, "withdraw_claim": withdrawn, "check_draft": draft
    }))
}

fn write(name: &str, answer: &Value) -> Outcome {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../ui/src/test-fixtures");
    std::fs::write(folder.join(format!("{name}.json")), format!("{answer:#}\n"))?;
    Ok(())
}
