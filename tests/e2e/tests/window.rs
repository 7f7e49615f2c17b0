//! The real window on the seed catalogue: what it shows is what the command line prints, and it can be used by anyone.

use std::path::Path;

use e2e::{Look, Outcome, Shelf, Window, violations};
use fantoccini::{Locator, key::Key};
use serde_json::{Value, json};

const LIGHT: Look = Look { dark: false, doubled: false };

const ENTER: &str = "\u{E007}";
const STANDINGS: &str = "#standings tbody tr";
const PRODUCTS: &str = "#products tbody tr";
const SHEET: &str = "#findings";

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

fn texts(value: &Value) -> Vec<&str> {
    value.as_array().map(|it| it.iter().filter_map(Value::as_str).collect()).unwrap_or_default()
}

#[tokio::test]
async fn the_band_is_the_one_that_the_command_line_prints() -> Outcome {
    let shelf = Shelf::seeded()?;
    let printed = shelf.json(&["band", "200..500"])?;
    let window = Window::open(&shelf, LIGHT).await?;

    window.find(STANDINGS).await?;
    let cells = window
        .page("[...document.querySelector('#standings tbody tr').cells].map((it) => it.innerText)")
        .await?;
    let cells = texts(&cells);
    let first = &printed["standings"][0];
    let name = format!(
        "{} {}",
        first["maker"].as_str().unwrap_or("?"),
        first["model"].as_str().unwrap_or("?")
    );
    assert!(cells[1].trim_start().starts_with(&name), "{cells:?} is not {name}");
    let price = first["price"]["real_pair"].as_f64().ok_or("a price")?;
    let shown: f64 =
        cells[2].split_whitespace().next().ok_or("a price is shown")?.replace(',', "").parse()?;
    assert!((shown - price).abs() <= 0.5, "{shown} is not {price}");
    let ends: Vec<f64> =
        cells[3].split('–').map(|it| it.trim().parse()).collect::<Result<_, _>>()?;
    for (shown, key) in [(ends.first(), "low"), (ends.last(), "high")] {
        let (shown, printed) =
            (shown.ok_or("an end")?, first["index"][key].as_f64().ok_or("an index")?);
        // One decimal is shown.
        assert!((shown - printed).abs() <= 0.05 + 1e-9, "{key}: {shown} is not {printed}");
    }

    let order = window
        .page(
            "[...document.querySelectorAll('#standings tbody tr')].map((it) => it.dataset.product)",
        )
        .await?;
    let printed_order: Vec<&str> = printed["standings"]
        .as_array()
        .ok_or("standings")?
        .iter()
        .filter_map(|it| it["product"].as_str())
        .collect();
    assert_eq!(texts(&order), printed_order);

    let request = json!({ "low": 200, "high": 500, "kind": null, "weights": null });
    let answer = window.ask("band", request).await?;
    assert!(
        same(&answer["report"], &printed),
        "window: {}\ncommand line: {printed}",
        answer["report"]
    );
    window.close().await
}

/// The capability file lists the commands of this program alone.
#[tokio::test]
async fn the_page_may_call_nothing_else() -> Outcome {
    let shelf = Shelf::bare()?;
    let window = Window::open(&shelf, LIGHT).await?;
    for command in [
        "plugin:window|set_title",
        "plugin:event|emit",
        "plugin:app|version",
        "plugin:dialog|open",
        "plugin:window-state|restore_state",
        "no_such_command",
    ] {
        let refusal =
            window.ask(command, json!({})).await.err().ok_or("it was answered")?.to_string();
        assert!(
            refusal.contains("not allowed") || refusal.contains("not found"),
            "{command}: {refusal}"
        );
    }
    window.close().await
}

#[tokio::test]
async fn another_band_is_ranked_from_the_keyboard() -> Outcome {
    let shelf = Shelf::seeded()?;
    let printed = shelf.json(&["band", "300..800", "--kind", "floor-standing"])?;
    let expected = printed["standings"].as_array().ok_or("standings")?.len();
    assert!(expected > 0, "the seed has floor-standing products there");
    let window = Window::open(&shelf, LIGHT).await?;
    window.find(STANDINGS).await?;
    for (field, text) in [("#low", "300"), ("#high", "800")] {
        let field = window.find(field).await?;
        field.clear().await?;
        field.send_keys(text).await?;
        field.send_keys("\u{E007}").await?;
    }
    window.find("#kind option[value='floor-standing']").await?.click().await?;
    let ranked = format!("document.querySelectorAll('{STANDINGS}').length === {expected}");
    window.until(&ranked).await?;
    let first = "document.querySelector('#standings tbody tr').dataset.product";
    assert_eq!(window.page(first).await?, printed["standings"][0]["product"]);
    window.close().await?;
    // The next start begins with the band of the last one.
    let window = Window::open(&shelf, LIGHT).await?;
    window.until(&ranked).await?;
    assert_eq!(window.page(first).await?, printed["standings"][0]["product"]);
    assert_eq!(window.page("document.querySelector('#low').value").await?, json!("300"));
    window.close().await
}

#[tokio::test]
async fn the_catalogue_is_used_from_the_keyboard() -> Outcome {
    let shelf = Shelf::seeded()?;
    let printed = shelf.json(&["products"])?;
    let products = printed["products"].as_array().ok_or("products")?;
    let window = Window::open(&shelf, LIGHT).await?;
    window.find(STANDINGS).await?;

    window.chord(Key::Alt, '1').await?;
    window.find(PRODUCTS).await?;
    let rows = window.client().find_all(Locator::Css(PRODUCTS)).await?;
    assert_eq!(rows.len(), products.len());

    // One that was opened, so that its sheet has findings.
    let wanted =
        products.iter().find(|it| it["found"].as_u64() > Some(20)).ok_or("an opened product")?;
    let model = wanted["model"].as_str().ok_or("a model")?;
    window.chord(Key::Control, 'f').await?;
    window.keys(model).await?;
    window
        .until(&format!("document.querySelectorAll('{PRODUCTS}').length < {}", products.len()))
        .await?;
    window.keys("\u{E015}").await?;
    window.until("document.activeElement.classList.contains('row-link')").await?;
    let opened = window.page("document.activeElement.closest('tr').dataset.product").await?;
    window.keys("\u{E007}").await?;
    window.find(SHEET).await?;
    let heading = window.text("h1").await?;
    let sheet = shelf.json(&["show", opened.as_str().ok_or("a product")?])?;
    assert!(heading.contains(sheet["row"]["model"].as_str().ok_or("a model")?), "{heading}");
    let shown = window.page("document.querySelector('main').innerText").await?;
    let shown = shown.as_str().ok_or("text")?;
    for finding in sheet["findings"].as_array().ok_or("findings")? {
        let address = finding["address"].as_str().ok_or("an address")?;
        assert!(shown.contains(address), "{address} is not on the sheet");
    }

    window.keys("\u{E00C}").await?;
    window.find(PRODUCTS).await?;
    let filter = window.page("document.querySelector('#filter').value").await?;
    assert_eq!(filter, model, "the filter is kept");

    // A product whose port was typed in a wrong unit: the reading is offered, and uncertainty is always shown.
    window.go("#/product/hobnail-lane/clog-5", "#checks").await?;
    let printed = shelf.json(&["show", "hobnail-lane/clog-5"])?;
    let checks = section(&window, "checks").await?;
    let doubtful = printed["cross_checks"].as_array().ok_or("cross-checks")?;
    let doubtful = doubtful.iter().find(|it| it["offers"] != json!([]));
    let doubtful = doubtful.ok_or("a check that offers a reading")?;
    let reading = doubtful["offers"][0]["typed"].as_str().ok_or("a reading")?;
    for text in [doubtful["text"].as_str().ok_or("a sentence")?, reading, "Nothing was changed."] {
        assert!(checks.contains(text), "{text} is not in:\n{checks}");
    }
    let quantities = section(&window, "quantities").await?;
    let all = printed["quantities"].as_array().ok_or("quantities")?;
    let shown: Vec<&str> =
        all.iter().filter_map(|it| it["shown"].as_str()).filter(|it| it.contains('±')).collect();
    assert!(shown.len() > 10, "{shown:?}");
    for it in shown {
        assert!(quantities.contains(it), "{it} is not in:\n{quantities}");
    }
    window.close().await
}

/// The text of the section of a sheet under a heading.
async fn section(window: &Window, heading: &str) -> Outcome<String> {
    let text = format!("document.getElementById('{heading}').closest('section').innerText");
    Ok(window.page(&text).await?.as_str().ok_or("text")?.to_owned())
}

/// The journey from nothing to a ranked band, without a pointer and without a terminal.
#[tokio::test]
async fn from_the_first_run_to_a_ranked_band() -> Outcome {
    let shelf = Shelf::bare()?;
    let window = Window::open(&shelf, LIGHT).await?;
    assert_eq!(window.text("h1").await?, "No catalogue yet");
    let shown = window.text("main").await?;
    for line in [
        format!("boxworth new {}", shelf.catalogue().display()),
        format!("boxworth --catalogue {} import FOLDER", shelf.catalogue().display()),
    ] {
        assert!(shown.contains(&line), "{line} is not in:\n{shown}");
    }
    assert_eq!(violations(&window).await?, Vec::<String>::new());
    window.picture("first-run-light").await?;

    // The place that the window looks for is filled in, so Enter is enough.
    window.tab_to("#new-title").await?;
    window.keys("Shelf of a test").await?;
    window.keys(ENTER).await?;
    window.until("document.querySelector('h1')?.textContent === 'This catalogue is empty'").await?;
    window.picture("first-run-empty-light").await?;

    // A folder with a fault changes nothing and says what to mend.
    let bad = shelf.folder().join("bad");
    std::fs::create_dir_all(&bad)?;
    std::fs::write(bad.join("a.toml"), "maker = 7")?;
    window.tab_to("#import-folder").await?;
    window.keys(bad.to_str().ok_or("a path that is Unicode")?).await?;
    window.keys(ENTER).await?;
    window.until("/can be taken until/.test(document.querySelector('main').innerText)").await?;
    let shown = window.text("main").await?;
    assert!(shown.contains("catalogue.toml"), "the place of the fault is not in:\n{shown}");
    assert_eq!(violations(&window).await?, Vec::<String>::new());
    window.picture("first-run-mend-light").await?;

    // Reading a long folder is stopped by the keys right behind the one that starts it.
    let long = shelf.folder().join("long");
    invented(&long, 6000)?;
    // Clearing takes the focus away, as a person would not.
    window.find("#import-folder").await?.clear().await?;
    let typed = long.to_str().ok_or("a path that is Unicode")?;
    let typed = format!("{typed}{ENTER}\u{e009}.");
    window.find("#import-folder").await?.send_keys(&typed).await?;
    let said = "document.querySelector('footer [role=status]').innerText";
    window.until(&format!("{said} === 'Stopped: nothing was looked at'")).await?;
    assert_eq!(window.page("document.querySelector('#import-plan')").await?, Value::Null);

    let seed = std::fs::canonicalize("../../seed-catalog")?;
    window.find("#import-folder").await?.clear().await?;
    let seed = seed.to_str().ok_or("a path that is Unicode")?;
    window.find("#import-folder").await?.send_keys(seed).await?;
    window.keys(ENTER).await?;
    window.find("#import-plan").await?;
    let nothing = shelf.json(&["products"])?;
    assert_eq!(nothing["products"], json!([]), "a plan does nothing");
    window.picture("first-run-plan-light").await?;
    window.tab_to("#import-now").await?;
    window.keys(ENTER).await?;
    // What was asked for first is shown once there is something to rank.
    window.find(STANDINGS).await?;
    let printed = shelf.json(&["band", "200..500"])?;
    let first =
        window.page("document.querySelector('#standings tbody tr').dataset.product").await?;
    assert_eq!(first, printed["standings"][0]["product"]);
    window.close().await
}

/// A folder of so many invented products of which nothing is known but what they are.
fn invented(folder: &Path, count: u32) -> Outcome {
    let makers = folder.join("products/quillcove");
    std::fs::create_dir_all(&makers)?;
    let about = "format = 1\ntitle = \"Long\"\ncurrency = \"USD\"\nbase_month = \"2026-06\"\n";
    std::fs::write(folder.join("catalogue.toml"), about)?;
    for number in 1..=count {
        let product = format!(
            "maker = \"Quillcove\"\nmodel = \"Tern {number}\"\nkind = \"stand-mount\"\nways = 2\npowered = false\n"
        );
        std::fs::write(makers.join(format!("tern-{number}.toml")), product)?;
    }
    Ok(())
}

/// What somebody does to the file meanwhile is seen when the window is returned to; what was opened last comes back.
#[tokio::test]
async fn the_window_follows_the_file_and_finds_it_again() -> Outcome {
    let shelf = Shelf::bare()?;
    let window = Window::open(&shelf, LIGHT).await?;
    window.until("document.querySelector('h1')?.textContent === 'No catalogue yet'").await?;
    shelf.make()?;
    window.page("window.dispatchEvent(new Event('focus'))").await?;
    window.until("document.querySelector('h1')?.textContent === 'This catalogue is empty'").await?;
    shelf.boxworth(&["import", "seed-catalog"])?;
    window.page("window.dispatchEvent(new Event('focus'))").await?;
    window.find(STANDINGS).await?;
    let recent = window.ask("recent", json!({})).await?;
    assert_eq!(texts(&recent), [shelf.catalogue().canonicalize()?.to_str().ok_or("a path")?]);
    window.close().await
}

#[tokio::test]
async fn a_file_that_is_no_catalogue_is_refused_in_words() -> Outcome {
    let shelf = Shelf::bare()?;
    std::fs::write(shelf.catalogue(), "not a catalogue")?;
    let window = Window::open(&shelf, LIGHT).await?;
    assert_eq!(window.text("h1").await?, "This catalogue cannot be opened");
    let status = window.ask("status", json!({})).await?;
    let sentence = status["fault"]["message"].as_str().ok_or("a sentence")?;
    assert!(window.text("main").await?.contains(sentence), "{sentence}");
    window.close().await
}
