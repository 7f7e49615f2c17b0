//! The Plugins screen in the real window, without a pointer: a file is looked at, checked, trusted and revoked, and a
//! number of the judgement is changed.

use e2e::{Look, OPENED, Outcome, Shelf, Window, violations};
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

/// The journey of somebody with a plugin for a subsystem that nobody thought of: looked at, checked, trusted, its findings
/// typed at the bench, ranked by, and revoked.
async fn journey(dark: bool) -> Outcome {
    let theme = if dark { "dark" } else { "light" };
    let shelf = Shelf::seeded()?;
    let library = shelf.plugin()?;
    let window = Window::open(&shelf, Look { dark, doubled: false }).await?;
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
    let digits: String = shown.chars().filter(char::is_ascii_alphanumeric).collect();
    let hash = sha256sum(&library)?;
    assert!(digits.contains(&hash), "{hash} is not in:\n{shown}");
    assert!(digits.contains(&format!("Size{bytes}bytes")), "{bytes} is not in:\n{shown}");
    assert!(shown.contains(library.to_str().unwrap_or("?")), "{shown}");
    let printed = shelf.json(&["plugin", "list"])?;
    assert!(!printed.to_string().contains(&hash), "looking is not trusting: {printed}");

    window.tab_to("#check-plugin").await?;
    window.keys(ENTER).await?;
    window.find("#plugin-checks").await?;
    let found = window.text("#plugin-checks").await?;
    assert!(found.contains("keeps the rules"), "{found}");
    window.picture(&format!("plugin-checked-{theme}")).await?;
    assert_eq!(violations(&window).await?, Vec::<String>::new(), "{theme}");

    window.tab_to("#trust-plugin").await?;
    window.keys(ENTER).await?;
    window.find("[data-plugin='org.example.finish']").await?;
    window.picture(&format!("plugin-trusted-{theme}")).await?;
    let printed = shelf.json(&["plugin", "list"])?;
    assert!(printed.to_string().contains(&hash), "{printed}");
    assert!(weights(&window).await?["finish"].is_number(), "it takes part in the index");

    // Its two findings are rows of the bench like all others.
    window.go(&format!("#/bench/{OPENED}"), "[data-row]").await?;
    for (key, typed) in [("grille_gap", "2.5 mm"), ("surface", "vinyl wrap")] {
        let field = format!("[id='bench-value-cabinet.org.example.finish.{key}']");
        window.find(&field).await?.send_keys(&format!("{typed}{ENTER}")).await?;
    }
    window.until("document.querySelector('#bench-state')?.innerText === 'all saved'").await?;
    window.picture(&format!("plugin-bench-{theme}")).await?;
    let sheet = shelf.json(&["show", OPENED])?;
    let surface = sheet["findings"]
        .as_array()
        .and_then(|all| all.iter().find(|it| it["address"] == "cabinet.org.example.finish.surface"))
        .ok_or("the finding is on the sheet")?;
    assert_eq!(surface["typed"], "vinyl wrap");

    // It has its column in the band, and the product its score there, as the command line says.
    window.chord(Key::Alt, '3').await?;
    window.until("/finish/i.test(document.querySelector('main')?.innerText ?? '')").await?;
    let printed = shelf.json(&["band", "200..500"])?;
    let scored = printed["standings"]
        .as_array()
        .and_then(|all| all.iter().find(|it| it["product"] == OPENED))
        .ok_or("it is ranked")?;
    assert!(scored["subsystems"]["finish"].is_object(), "{scored}");
    window.picture(&format!("plugin-band-{theme}")).await?;

    window.chord(Key::Alt, '6').await?;
    window.find("[data-plugin='org.example.finish']").await?;
    window.tab_to("[data-plugin='org.example.finish'] .revoke").await?;
    window.keys(ENTER).await?;
    window.tab_to("[data-plugin='org.example.finish'] .act").await?;
    window.keys(ENTER).await?;
    window.until("document.querySelector(\"[data-plugin='org.example.finish']\") === null").await?;
    assert!(weights(&window).await?["finish"].is_null(), "nothing of it is left in the index");
    let sheet = shelf.json(&["show", OPENED])?.to_string();
    assert!(sheet.contains("org.example.finish.surface"), "what was found is kept");
    window.close().await
}

#[tokio::test]
async fn a_plugin_is_trusted_and_its_findings_are_typed_and_ranked() -> Outcome {
    journey(false).await
}

#[tokio::test]
async fn the_same_in_the_dark() -> Outcome {
    journey(true).await
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
