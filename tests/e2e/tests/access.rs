//! Every screen of the window, found through its own masthead: axe in both themes, the way of Tab, narrow and doubled
//! windows, and pictures to look at.

use std::collections::BTreeSet;

use e2e::{Look, Outcome, Shelf, Window, violations};
use serde_json::{Value, json};

const LIGHT: Look = Look { dark: false, doubled: false };
const DARK: Look = Look { dark: true, doubled: false };
const DOUBLED: Look = Look { dark: false, doubled: true };

/// The addresses of all screens: those of the masthead, the sheet of a product, the file and the keys.
async fn screens(window: &Window) -> Outcome<Vec<String>> {
    window.find("#standings tbody tr").await?;
    let found = window
        .page(
            "[...[...document.querySelectorAll(\"nav[aria-label='Screens'] a\")]
                .map((it) => it.getAttribute('href')),
              '#/product/' + document.querySelector('#standings tbody tr').dataset.product,
              '#/file', '#/keys']",
        )
        .await?;
    let found: Vec<String> =
        found.as_array().into_iter().flatten().filter_map(Value::as_str).map(Into::into).collect();
    assert!(found.len() >= 6, "{found:?}");
    Ok(found)
}

/// Goes to a screen and waits until nothing on it is still being read.
async fn show(window: &Window, address: &str) -> Outcome {
    window.go(address, "main h1").await?;
    window
        .until(&format!(
            "location.hash === {} && document.querySelector('main h1') !== null
             && ![...document.querySelectorAll('main .soft')].some((it) => it.textContent.trim().endsWith('…'))",
            json!(address)
        ))
        .await
        .map_err(|why| format!("{address}: {why}").into())
}

#[tokio::test]
async fn every_screen_passes_axe_in_light_and_dark() -> Outcome {
    let shelf = Shelf::seeded()?;
    for look in [LIGHT, DARK] {
        let window = Window::open(&shelf, look).await?;
        let dark = window.page("matchMedia('(prefers-color-scheme: dark)').matches").await?;
        assert_eq!(dark, json!(look.dark), "the theme reached the page");
        for address in screens(&window).await? {
            show(&window, &address).await?;
            // What is closed is looked at, too.
            window
                .page("document.querySelectorAll('main details').forEach((it) => { it.open = true; })")
                .await?;
            let broken = violations(&window).await?;
            assert_eq!(broken, Vec::<String>::new(), "{address}, {look:?}");
        }
        window.close().await?;
    }
    Ok(())
}

/// WCAG 2.2, 1.4.10: at 320 pixels of width nothing but tables and charts may need sideways scrolling; the same at 640.
#[tokio::test]
async fn nothing_scrolls_sideways_in_a_narrow_window() -> Outcome {
    let shelf = Shelf::seeded()?;
    let window = Window::open(&shelf, LIGHT).await?;
    let all = screens(&window).await?;
    for (window_px, page_px) in [(640, 640), (360, 320)] {
        window.resize(window_px, 800).await?;
        // The window goes no narrower than 360; the page itself is measured at 320.
        window.page(&format!("document.body.style.setProperty('width', '{page_px}px')")).await?;
        for address in &all {
            show(&window, address).await?;
            // Charts take their new width after the next frame.
            window
                .until(&format!("document.body.scrollWidth <= {page_px}"))
                .await
                .map_err(|why| format!("{address} at {page_px}: {why}"))?;
        }
    }
    window.close().await
}

/// WCAG 2.2, 2.1.2 and 2.4.7: Tab leads through each screen and out of it, and what has the focus shows it.
#[tokio::test]
async fn tab_leads_through_every_screen_and_out_of_it() -> Outcome {
    let shelf = Shelf::seeded()?;
    let window = Window::open(&shelf, LIGHT).await?;
    for address in screens(&window).await? {
        show(&window, &address).await?;
        window.page("(document.activeElement.blur(), scrollTo(0, 0))").await?;
        // Each stop gets a number, so that the round can be told from standing still.
        let stop = "(() => {
            const at = document.activeElement;
            if (at === null || at === document.body) return { out: true };
            window.stops = window.stops ?? new Map();
            if (!window.stops.has(at)) window.stops.set(at, window.stops.size);
            const rings = [at, ...at.querySelectorAll('*')].some((it) => {
                const style = getComputedStyle(it);
                return (style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) > 0)
                    || (style.stroke !== 'none' && it.classList.contains('halo'));
            });
            return { out: false, number: window.stops.get(at), rings, what: at.outerHTML.slice(0, 160) };
        })()";
        window.page("(window.stops = undefined)").await?;
        let mut seen = BTreeSet::new();
        for step in 0.. {
            assert!(step < 1500, "{address}: Tab never leads out");
            window.keys("\u{E004}").await?;
            let at = window.page(stop).await?;
            if at["out"] == json!(true) || at["number"] == json!(0) && !seen.is_empty() {
                break;
            }
            let number = at["number"].as_u64().ok_or("a number")?;
            assert!(seen.insert(number), "{address}: Tab goes back to {}", at["what"]);
            assert_eq!(
                at["rings"],
                json!(true),
                "{address}: the focus does not show on {}",
                at["what"]
            );
        }
        assert!(seen.len() > 6, "{address}: only {} stops", seen.len());
    }
    window.close().await
}

/// Pictures of every screen at three sizes in both themes, and doubled, for people to look at.
#[tokio::test]
async fn pictures_of_every_screen() -> Outcome {
    let shelf = Shelf::seeded()?;
    let looks = [(LIGHT, "light"), (DARK, "dark"), (DOUBLED, "doubled")];
    for (look, theme) in looks {
        let window = Window::open(&shelf, look).await?;
        let all = screens(&window).await?;
        let sizes: &[(u32, u32)] =
            if look.doubled { &[(640, 480)] } else { &[(1280, 800), (800, 900), (400, 800)] };
        for (width, height) in sizes {
            window.resize(*width, *height).await?;
            for address in &all {
                show(&window, address).await?;
                window.page("scrollTo(0, 0)").await?;
                let screen = address.trim_start_matches("#/").split('/').next().unwrap_or("?");
                let path = window.picture(&format!("all-{screen}-{width}-{theme}")).await?;
                let bytes = std::fs::metadata(&path)?.len();
                assert!(bytes > 5_000, "{} has {bytes} bytes; it is blank", path.display());
            }
        }
        window.close().await?;
    }
    Ok(())
}
