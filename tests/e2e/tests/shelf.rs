//! A catalogue of 10,000 invented products in the real window: every row in view is drawn wherever one scrolls, the
//! keyboard reaches the last one, filters answer.

use e2e::{Look, Outcome, Shelf, Window, violations};
use serde_json::{Value, json};

const MANY: usize = 10_000;
const ROW: &str = "#products tbody tr[data-product]";

/// Scrolls through the list by pages and a bit; answers with the places at which the view was not full of rows, or in
/// which a row was missing or stood in the wrong order.
const SCROLL: &str = "
    const done = arguments[0];
    const frame = document.querySelector('.frame:has(#products)');
    const wrong = [];
    const look = (top) => {
        const box = frame.getBoundingClientRect();
        const head = frame.querySelector('thead').getBoundingClientRect();
        const rows = new Set();
        for (let y = head.bottom + 6; y < Math.min(box.bottom, innerHeight) - 20; y += 12) {
            const at = document.elementFromPoint(box.left + 60, y)?.closest('tr');
            if (!at?.dataset.product) { wrong.push(top + ': nothing at ' + Math.round(y)); return; }
            rows.add(Number(at.getAttribute('aria-rowindex')));
        }
        const order = [...rows];
        if (order.length < 5 || order.some((it, at) => at > 0 && it !== order[at - 1] + 1)) wrong.push(top + ': ' + order);
    };
    const end = frame.scrollHeight - frame.clientHeight;
    const step = Math.max(1, Math.floor(end / 40)) + 7;
    let top = 0;
    const turn = () => {
        look(top);
        if (top >= end || wrong.length > 3) { done({ wrong, end }); return; }
        top = Math.min(top + step, end);
        frame.scrollTop = top;
        requestAnimationFrame(() => requestAnimationFrame(turn));
    };
    turn();";

#[tokio::test]
async fn ten_thousand_products_scroll_without_a_dropped_row() -> Outcome {
    let shelf = Shelf::bare()?;
    generate::write(shelf.catalogue(), 0, MANY, &mut |_| {})?;
    let window = Window::open(&shelf, Look::default()).await?;
    window.go("#/catalogue", ROW).await?;
    assert_eq!(
        window.page("document.querySelector('#products').getAttribute('aria-rowcount')").await?,
        json!((MANY + 1).to_string())
    );
    let seen = window.client().execute_async(SCROLL, Vec::new()).await?;
    assert_eq!(seen["wrong"], Value::Array(Vec::new()), "{seen}");
    window.picture("shelf-10000-end").await?;

    // By keyboard from the words to the last row.
    window.client().execute("document.querySelector('#filter').focus()", Vec::new()).await?;
    window.keys("\u{e015}").await?;
    window
        .until("document.activeElement.closest('tr')?.getAttribute('aria-rowindex') === '2'")
        .await?;
    window.keys("\u{e010}").await?;
    window
        .until(&format!(
            "document.activeElement.closest('tr')?.getAttribute('aria-rowindex') === '{}'",
            MANY + 1
        ))
        .await?;
    // So long a list is answered without its findings; they are counted where it comes to rest.
    window
        .until(&format!(
            "![...document.querySelectorAll('{ROW}')].some((it) => it.textContent.includes('…'))"
        ))
        .await?;
    assert_eq!(violations(&window).await?, Vec::<String>::new());

    // What is found is what the command line finds.
    window.client().execute("document.querySelector('#filter').focus()", Vec::new()).await?;
    window.keys("ashelacre").await?;
    let listed = shelf.json(&["products", "ashelacre"])?;
    let found = listed["products"].as_array().ok_or("products")?.len();
    assert!(found > 0);
    window
        .until(&format!(
            "document.querySelector('#products')?.getAttribute('aria-rowcount') === '{}'",
            found + 1
        ))
        .await?;
    window.close().await
}
