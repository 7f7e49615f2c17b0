//! Measures scrolling through a large catalogue in the real window, and prints the times between frames.
//!
//! `xvfb-run -a cargo run -p e2e --example scrolling -- 10000`; build the window first with `cargo xtask build --window`.
#![expect(clippy::print_stdout, reason = "a program for the terminal")]

use e2e::{Look, Outcome, Shelf, Window};
use serde_json::Value;

/// Scrolls by 900 px a frame, as a hard turn of a wheel; answers with the times between frames in milliseconds and the
/// number of frames in which a place in the view had no row.
const SCROLL: &str = "
    const done = arguments[0];
    const frame = document.querySelector('.frame:has(#products)');
    const times = [];
    let last = performance.now(), top = 0, blank = 0;
    const turn = (now) => {
        times.push(now - last);
        last = now;
        const box = frame.getBoundingClientRect();
        for (const y of [0.3, 0.6, 0.9]) {
            const at = document.elementFromPoint(box.left + 60, box.top + (Math.min(box.bottom, innerHeight) - box.top) * y);
            if (!at?.closest('tr')?.dataset.product) { blank += 1; break; }
        }
        top += 900;
        if (times.length > 200 || top > frame.scrollHeight) { done({ times, blank }); return; }
        frame.scrollTop = top;
        requestAnimationFrame(turn);
    };
    requestAnimationFrame((now) => { last = now; requestAnimationFrame(turn); });";

#[tokio::main(flavor = "current_thread")]
async fn main() -> Outcome {
    let count = std::env::args().nth(1).map_or(Ok(10_000), |it| it.parse())?;
    let shelf = Shelf::bare()?;
    generate::write(shelf.catalogue(), 0, count, &mut |_| {})?;
    let window = Window::open(&shelf, Look::default()).await?;
    window.go("#/catalogue", "#products tbody tr[data-product]").await?;
    let seen = window.client().execute_async(SCROLL, Vec::new()).await?;
    let mut times: Vec<f64> =
        seen["times"].as_array().into_iter().flatten().filter_map(Value::as_f64).collect();
    times.sort_by(f64::total_cmp);
    let at = |share: usize| {
        times.get(times.len().saturating_sub(1) * share / 100).copied().unwrap_or(0.0)
    };
    println!(
        "{count} products, {} frames: median {:.1} ms, 95 % {:.1} ms, 99 % {:.1} ms, longest {:.1} ms; {} with a missing row",
        times.len(),
        at(50),
        at(95),
        at(99),
        at(100),
        seen["blank"]
    );
    window.close().await
}
