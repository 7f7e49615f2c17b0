//! The Plugins screen in the real window, without a pointer: a file is looked at, checked, trusted and revoked, and a
//! number of the judgement is changed.

use e2e::{Look, Outcome, Shelf, Window};
use fantoccini::key::Key;
use serde_json::{Value, json};

const ENTER: &str = "\u{E007}";
const TAB: &str = "\u{E004}";

/// The SHA-256 of a file by coreutils, which knows nothing of this program.
#[expect(clippy::disallowed_methods, reason = "tests of processes start processes")]
fn sha256sum(file: &std::path::Path) -> Outcome<String> {
    let said = std::process::Command::new("sha256sum").arg(file).output()?;
    let text = String::from_utf8(said.stdout)?;
    Ok(text.split_whitespace().next().ok_or("sha256sum says nothing")?.to_owned())
}

async fn weights(window: &Window) -> Outcome<Value> {
    let request = json!({ "low": 200, "high": 500, "kind": null, "weights": null });
    Ok(window.ask("band", request).await?["report"]["weights"].take())
}

#[tokio::test]
async fn a_plugin_is_trusted_by_keyboard_and_revoked() -> Outcome {
    let shelf = Shelf::seeded()?;
    let library = shelf.plugin()?;
    let window = Window::open(&shelf, Look::default()).await?;
    window.find("#standings").await?;
    window.chord(Key::Alt, '6').await?;
    window.find("[data-plugin='org.boxworth.cabinet']").await?;

    // Before the decision: where it is, how large, which bytes, and nothing of it loaded.
    window.tab_to("#plugin-file").await?;
    window.keys(library.to_str().ok_or("a path that is Unicode")?).await?;
    window.keys(ENTER).await?;
    window.find("#decide").await?;
    let shown = window.text(".decision").await?;
    let bytes = std::fs::metadata(&library)?.len();
    let in_groups = bytes.to_string().len();
    assert!(in_groups > 3, "the file has {bytes} bytes");
    let digits: String = shown.chars().filter(char::is_ascii_alphanumeric).collect();
    let hash = sha256sum(&library)?;
    assert!(digits.contains(&hash), "{hash} is not in:\n{shown}");
    assert!(digits.contains(&format!("Size{bytes}bytes")), "{bytes} is not in:\n{shown}");
    assert!(shown.contains(library.to_str().unwrap_or("?")), "{shown}");
    let printed = shelf.json(&["plugin", "list"])?;
    assert!(!printed.to_string().contains(&hash), "looking is not trusting: {printed}");
    window.picture("plugins-decision-light").await?;

    window.tab_to("#check-plugin").await?;
    window.keys(ENTER).await?;
    window.find("#plugin-checks").await?;
    let found = window.text("#plugin-checks").await?;
    assert!(found.contains("keeps the rules"), "{found}");

    window.tab_to("#trust-plugin").await?;
    window.keys(ENTER).await?;
    window.find("[data-plugin='org.example.finish']").await?;
    let printed = shelf.json(&["plugin", "list"])?;
    assert!(printed.to_string().contains(&hash), "{printed}");
    assert!(weights(&window).await?["finish"].is_number(), "it takes part in the index");

    // Its column is in the band.
    window.chord(Key::Alt, '3').await?;
    window.find("#standings").await?;
    window.until("/finish/i.test(document.querySelector('main').innerText)").await?;

    window.chord(Key::Alt, '6').await?;
    window.find("[data-plugin='org.example.finish']").await?;
    window.tab_to("[data-plugin='org.example.finish'] .revoke").await?;
    window.keys(ENTER).await?;
    window.tab_to("[data-plugin='org.example.finish'] .act").await?;
    window.keys(ENTER).await?;
    window.until("document.querySelector(\"[data-plugin='org.example.finish']\") === null").await?;
    assert!(weights(&window).await?["finish"].is_null(), "nothing of it is left in the index");
    window.close().await
}

#[tokio::test]
async fn a_number_is_changed_with_a_reason_and_ranks_follow() -> Outcome {
    let shelf = Shelf::seeded()?;
    let window = Window::open(&shelf, Look::default()).await?;
    let before = weights(&window).await?;
    window.go("#/plugins", "[data-address='subsystem.cabinet']").await?;
    window.tab_to("[data-address='subsystem.cabinet'] input").await?;
    // Tab selects what stands there.
    window.keys("60").await?;
    // Without a reason nothing is recorded.
    window.keys(ENTER).await?;
    window.find("[data-address='subsystem.cabinet'] [role='alert']").await?;
    window.keys(TAB).await?;
    window.keys("boxes decide here").await?;
    window.keys(ENTER).await?;
    window.find("#rubric-history").await?;
    let printed = shelf.json(&["rubric", "--history"])?;
    let change = &printed["changes"][0];
    assert_eq!(change["address"], "subsystem.cabinet", "{printed}");
    assert_eq!((&change["value"], &change["reason"]), (&json!("60"), &json!("boxes decide here")));
    let after = weights(&window).await?;
    let share = |of: &Value| of["cabinet"].as_f64().unwrap_or_default();
    assert!(share(&after) > share(&before), "{before} {after}");
    window.close().await
}
