//! The band in the real window: chosen, weighed, compared and asked what if, by keyboard, with what the command line says.

use e2e::{Look, Outcome, Shelf, Window, violations};
use serde_json::{Value, json};

const STANDINGS: &str = "#standings tbody tr";
const LOW: &str = "[role=slider][aria-label='Lower edge of the band']";
const RIGHT: &str = "\u{E014}";
const ENTER: &str = "\u{E007}";

async fn focus(window: &Window, css: &str) -> Outcome {
    window.find(css).await?;
    window
        .client()
        .execute("document.querySelector(arguments[0]).focus()", vec![json!(css)])
        .await?;
    Ok(())
}

fn keys_of(report: &Value) -> Vec<String> {
    let list = report["standings"].as_array().into_iter().flatten();
    list.filter_map(|it| it["product"].as_str().map(str::to_owned)).collect()
}

#[tokio::test]
async fn the_band_is_moved_by_arrow_keys_and_ranked_when_it_rests() -> Outcome {
    let shelf = Shelf::seeded()?;
    let window = Window::open(&shelf, Look::default()).await?;
    window.find(STANDINGS).await?;
    focus(&window, LOW).await?;
    window.keys(RIGHT).await?;
    window.keys(RIGHT).await?;
    // Stops are round: from 200 they are 210 and 220.
    window.until("document.querySelector('#low').value === '220'").await?;
    let printed = shelf.json(&["band", "220..500"])?;
    let expected = keys_of(&printed);
    window
        .until(&format!(
            "JSON.stringify([...document.querySelectorAll('{STANDINGS}')].map((it) => it.dataset.product)) === {:?}",
            serde_json::to_string(&expected)?
        ))
        .await?;
    assert_eq!(window.find(LOW).await?.attr("aria-valuetext").await?.as_deref(), Some("220"));
    window.picture("band-slider").await?;
    window.close().await
}

#[tokio::test]
async fn a_weight_ranks_at_once_and_the_whole_answer_follows() -> Outcome {
    let shelf = Shelf::seeded()?;
    let window = Window::open(&shelf, Look::default()).await?;
    window.find(STANDINGS).await?;
    let before = window.text("#at-standings").await?;
    window
        .client()
        .execute(
            "const it = document.querySelector('#weight-wiring'); it.value = '90';
             it.dispatchEvent(new Event('input', { bubbles: true }));",
            Vec::new(),
        )
        .await?;
    let weights = "wiring=90";
    let printed = shelf.json(&["band", "200..500", "--weights", weights])?;
    // The catalogue's own weights stay for the others; only what they are to each other counts.
    let first = keys_of(&printed).first().cloned().ok_or("a standing")?;
    window
        .until(&format!("document.querySelector('{STANDINGS}').dataset.product === {first:?}"))
        .await?;
    let dots = "document.querySelector('figure [data-product]').dataset.product";
    assert_eq!(window.page(dots).await?, json!(first));
    assert_eq!(window.text("#at-standings").await?, before);
    window.close().await
}

#[tokio::test]
async fn pinned_products_stand_side_by_side_as_the_command_line_has_them() -> Outcome {
    let shelf = Shelf::seeded()?;
    let window = Window::open(&shelf, Look::default()).await?;
    window.find(STANDINGS).await?;
    let keys: Vec<String> =
        keys_of(&shelf.json(&["band", "200..500"])?).into_iter().take(3).collect();
    for key in &keys {
        focus(&window, &format!("#standings tr[data-product='{key}'] a")).await?;
        window.keys("p").await?;
    }
    window.keys("c").await?;
    window.find("#compare").await?;
    let asked: Vec<&str> = keys.iter().map(String::as_str).collect();
    let printed = shelf.json(&[&["compare"], &asked[..]].concat())?;
    let shown = window
        .page("[...document.querySelectorAll('#compare thead th[data-product]')].map((it) => it.dataset.product)")
        .await?;
    assert_eq!(shown, json!(keys));
    let rows: usize = printed["sections"]
        .as_array()
        .into_iter()
        .flatten()
        .map(|it| it["rows"].as_array().map_or(0, Vec::len))
        .sum();
    let drawn = "document.querySelectorAll('#compare tr.differs, #compare tr.alike, #compare tr.open').length";
    assert_eq!(window.page(drawn).await?, json!(rows));
    assert_eq!(violations(&window).await?, Vec::<String>::new());
    window.picture("band-side-by-side").await?;
    // Escape leads back, and the pins stay.
    window.keys("\u{E00C}").await?;
    window.find(STANDINGS).await?;
    window.find("aside[aria-label='Pinned products']").await?;
    window.close().await
}

#[tokio::test]
async fn what_if_moves_a_standing_and_saves_nothing() -> Outcome {
    let shelf = Shelf::seeded()?;
    let before = shelf.boxworth(&["--json", "band", "200..500"])?;
    let window = Window::open(&shelf, Look::default()).await?;
    window.find(STANDINGS).await?;
    window.find("#at-what-if button").await?.click().await?;
    window.find("#if-price").await?.send_keys("205").await?;
    window.keys(ENTER).await?;
    window.find("#moved").await?;
    window.find("a.keep").await?;
    window.picture("band-what-if").await?;
    window.close().await?;
    assert_eq!(shelf.boxworth(&["--json", "band", "200..500"])?, before);
    Ok(())
}

#[tokio::test]
async fn each_part_opens_and_can_be_used_by_anyone() -> Outcome {
    for dark in [false, true] {
        let shelf = Shelf::seeded()?;
        let window = Window::open(&shelf, Look { dark, doubled: false }).await?;
        window.find(STANDINGS).await?;
        window
            .client()
            .execute(
                "document.querySelectorAll('h2 [aria-expanded=false]').forEach((it) => it.click());",
                Vec::new(),
            )
            .await?;
        for awaited in ["#ranks", "#subsystems", "#value", "#usual-shares", "#weight-intervals"] {
            window.find(awaited).await?;
        }
        assert_eq!(violations(&window).await?, Vec::<String>::new(), "dark: {dark}");
        for width in [640, 1280, 1920] {
            window.resize(width, 1000).await?;
            let over = "document.documentElement.scrollWidth > innerWidth";
            assert_eq!(window.page(over).await?, json!(false), "at {width}");
            let theme = if dark { "dark" } else { "light" };
            window.picture(&format!("band-{theme}-{width}")).await?;
        }
        window.close().await?;
    }
    Ok(())
}

/// The window keeps what did not change since it last asked, and since its last start; the command line computes all of it.
#[tokio::test]
async fn after_a_finding_and_a_restart_the_kept_numbers_are_those_of_a_fresh_program() -> Outcome {
    let shelf = Shelf::seeded()?;
    let window = Window::open(&shelf, Look::default()).await?;
    window.find(STANDINGS).await?;
    let asked = json!({ "low": 200.0, "high": 500.0 });
    let before = window.ask("band", asked.clone()).await?;
    let product = before["report"]["standings"][0]["product"].clone();
    let save = json!({
        "bench": { "product": product }, "finding": "wiring.terminal", "place": "found", "value": "spring clip"
    });
    assert_eq!(window.ask("save_finding", save).await?["changed"], json!(true));
    let kept = window.ask("band", asked.clone()).await?;
    let computed = shelf.json(&["band", "200..500"])?;
    assert_ne!(numbers(&before["report"]), numbers(&kept["report"]));
    assert_eq!(numbers(&kept["report"]), numbers(&computed));
    window.close().await?;
    let files = std::fs::read_dir(shelf.folder().join("cache/boxworth"))?;
    let names: Vec<_> = files.map(|it| it.map(|it| it.path())).collect::<Result<_, _>>()?;
    assert!(names.len() == 1 && names[0].extension().is_some_and(|it| it == "draws"), "{names:?}");
    let window = Window::open(&shelf, Look::default()).await?;
    window.find(STANDINGS).await?;
    let again = window.ask("band", asked).await?;
    assert_eq!(numbers(&again["report"]), numbers(&computed));
    window.close().await
}

/// What the draws decided, as numbers: a browser writes 1.0 as 1.
fn numbers(report: &Value) -> Vec<(String, Vec<Option<f64>>)> {
    let list = report["standings"].as_array().into_iter().flatten();
    list.map(|it| {
        let parts = [
            &it["index"]["low"],
            &it["index"]["high"],
            &it["rank"]["median"],
            &it["p_first"],
            &it["holistic"],
        ];
        (it["product"].to_string(), parts.map(Value::as_f64).to_vec())
    })
    .collect()
}
