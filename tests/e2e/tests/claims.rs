//! Claims in the real window: the same answers as on the command line, written by choosing, usable by anyone.

use e2e::{Look, Outcome, Shelf, Window, violations};
use fantoccini::key::Key;
use serde_json::{Value, json};

const DRAFT: &str = include_str!("../../fixtures/drafts/autumn-guide.md");

/// Equal, with numbers compared as numbers: a browser writes 1.0 as 1.
fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => a.as_f64() == b.as_f64(),
        (Value::Array(a), Value::Array(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b))
        }
        (Value::Object(a), Value::Object(b)) => {
            a.len() == b.len() && a.iter().all(|(key, a)| b.get(key).is_some_and(|b| same(a, b)))
        }
        _ => a == b,
    }
}

#[tokio::test]
async fn a_draft_has_the_same_verdicts_on_both_surfaces() -> Outcome {
    let shelf = Shelf::seeded()?;
    // Each claim by itself on the command line: a draft with a contradicted claim ends there with status 1.
    let window = Window::open(&shelf, Look::default()).await?;
    let report = window.ask("check_draft", json!({ "text": DRAFT, "seed": null })).await?;
    let claims = report["claims"].as_array().ok_or("claims")?;
    assert_eq!(claims.len(), 8);
    for it in claims {
        let statement = it["judgement"]["statement"].as_str().ok_or("a statement")?;
        let printed = shelf.json(&["claims", "judge", statement])?;
        assert!(same(&it["judgement"], &printed), "window: {it}\ncommand line: {printed}");
    }
    window.close().await
}

#[tokio::test]
async fn a_claim_is_written_by_choosing_and_stored_from_the_keyboard() -> Outcome {
    let shelf = Shelf::seeded()?;
    let window = Window::open(&shelf, Look::default()).await?;
    window.chord(Key::Alt, '4').await?;
    for (field, value) in [("#claim-kind", "good-value"), ("#claim-product", "skerrymoor/voe-6")] {
        window.find(&format!("{field} option[value='{value}']")).await?;
        window.find(field).await?.select_by_value(value).await?;
    }
    for (field, value) in [("#claim-low", "200"), ("#claim-high", "500")] {
        window.find(field).await?.send_keys(value).await?;
    }
    window.until("document.querySelector('.judgement blockquote')?.innerText.length > 20").await?;
    let shown = window.text(".judgement blockquote").await?;
    let printed =
        shelf.json(&["claims", "judge", "good-value product=skerrymoor/voe-6 band=200..500"])?;
    assert_eq!(shown.trim(), printed["sentence"].as_str().ok_or("a sentence")?);
    window.find("#claim-wording").await?.send_keys("It is good value.").await?;
    window.find("#claim-wording").await?.send_keys(&format!("{}\u{e007}", '\u{e009}')).await?;
    window.until("document.querySelectorAll('table tbody tr').length > 0").await?;
    let list = shelf.json(&["claims", "list"])?;
    assert_eq!(list["claims"][0]["wording"], "It is good value.");
    window.close().await
}

#[tokio::test]
async fn the_screen_of_claims_is_usable_by_anyone() -> Outcome {
    // `access.rs` looks at the screen as it opens; here a claim is judged on it.
    for (name, look, width) in [
        ("claim-judged-dark", Look { dark: true, doubled: false }, 1280),
        ("claim-judged-narrow", Look { dark: false, doubled: false }, 640),
    ] {
        let shelf = Shelf::seeded()?;
        for claim in [
            "best product=thistlequern/grist-6 of=cabinet band=200..500",
            "most where=\"cabinet.brace_count = 0\" population=market band=200..500",
        ] {
            let _ = shelf.json(&["claims", "add", claim, "--wording", "An invented sentence."])?;
        }
        let window = Window::open(&shelf, look).await?;
        window.resize(width, 900).await?;
        window.go("#/claims", "#claims-shown").await?;
        for (field, value) in
            [("#claim-kind", "typical"), ("#claim-product", "hobnail-lane/welt-6")]
        {
            window.find(&format!("{field} option[value='{value}']")).await?;
            window.find(field).await?.select_by_value(value).await?;
        }
        window.until("document.querySelector('.judgement blockquote') !== null").await?;
        let _ = window.picture(name).await?;
        assert_eq!(violations(&window).await?, Vec::<String>::new(), "{name}");
        let wide = window.page("document.documentElement.scrollWidth - innerWidth").await?;
        assert!(wide.as_f64().is_some_and(|it| it <= 0.0), "{name} scrolls sideways by {wide}");
        window.close().await?;
    }
    Ok(())
}
