//! A price is added with the keyboard in the real window, and the standing of the product in the band changes as the
//! command line says.

use e2e::{Look, Outcome, Shelf, Window, violations};
use fantoccini::key::Key;
use serde_json::Value;

const PRODUCT: &str = "thistlequern/grist-5";
const FORM: &str = "form[aria-label='Enter a price']";

fn standing(band: &Value) -> Option<&Value> {
    band["standings"].as_array()?.iter().find(|it| it["product"] == PRODUCT)
}

async fn journey(dark: bool) -> Outcome {
    let shelf = Shelf::seeded()?;
    let before = shelf.json(&["band", "200..500"])?;
    let price_before = standing(&before).ok_or("it is ranked")?["price"]["real_pair"].clone();
    assert!(price_before.is_number(), "{price_before}");
    let theme = if dark { "dark" } else { "light" };
    let window = Window::open(&shelf, Look { dark, doubled: false }).await?;
    window.go(&format!("#/product/{PRODUCT}"), FORM).await?;

    window.chord(Key::Alt, 'p').await?;
    window
        .until(&format!("document.activeElement === document.querySelector(\"{FORM} input\")"))
        .await?;
    window.keys("149 each").await?;
    window.until("document.querySelector('#price-reading').innerText.includes('149.00 USD each: a pair is')").await?;
    window.picture(&format!("price-typed-{theme}")).await?;
    assert_eq!(violations(&window).await?, Vec::<String>::new());
    window.keys("\u{e007}").await?;
    window.until("[...document.querySelectorAll('th[scope=row]')].some((it) => it.parentElement.innerText.includes('149.00 USD each'))").await?;
    window.picture(&format!("price-saved-{theme}")).await?;

    // The command line sees the same price, and the standing has moved.
    let listed = shelf.json(&["price", "list", PRODUCT])?;
    assert_eq!(listed["rows"][0]["asked"], "149.00 USD each");
    let after = shelf.json(&["band", "200..500"])?;
    let price_after = standing(&after).ok_or("it is ranked still")?["price"]["real_pair"].clone();
    assert_ne!(price_before, price_after);
    assert_eq!(price_after, listed["price"]["real_pair"]);
    assert_ne!(standing(&before), standing(&after));
    window.close().await
}

#[tokio::test]
async fn a_price_is_added_by_keyboard_and_the_standing_changes() -> Outcome {
    journey(false).await
}

#[tokio::test]
async fn the_same_in_the_dark() -> Outcome {
    journey(true).await
}
