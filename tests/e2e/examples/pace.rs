//! How fast the band is in the real window, on a catalogue of one's own:
//! `xvfb-run -a cargo run -p e2e --example pace -- CATALOGUE [LOW..HIGH]`
//!
//! Prints, and asserts nothing: a loaded machine is no slow program. The catalogue is copied first. `BOXWORTH_BUILD=release`
//! measures the programs of a release build.

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

use std::{
    fs,
    time::{Instant, SystemTime, UNIX_EPOCH},
};

use e2e::{Look, Outcome, Shelf, Window};
use serde_json::json;

/// Times a typed weight: the script of the key, then the script from the answer of the engine, read, to changed marks, and the frame
/// after each. Then it rests as long as is asked.
const WEIGHT: &str = r"
const [weight, rest, done] = arguments;
const field = document.querySelector('#weight-driver');
const frame = () => new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve)));
(async () => {
  let answered = NaN;
  let changed = NaN;
  const read = Response.prototype.json;
  Response.prototype.json = function () {
    return read.call(this).then((it) => {
      if (this.url.endsWith('/ranks')) answered ||= performance.now();
      return it;
    });
  };
  const seen = new MutationObserver(() => (changed ||= performance.now()));
  const all = { subtree: true, childList: true, attributes: true, characterData: true };
  seen.observe(document.querySelector('.charts figure svg'), all);
  field.value = String(weight);
  const start = performance.now();
  field.dispatchEvent(new Event('input', { bubbles: true }));
  const key = performance.now() - start;
  await frame();
  const echo = performance.now() - start;
  while (Number.isNaN(changed) && performance.now() - start < 20000) await frame();
  const painted = performance.now();
  seen.disconnect();
  Response.prototype.json = read;
  await new Promise((resolve) => setTimeout(resolve, rest));
  done({ key, echo, answer: answered - start, script: changed - answered, paint: painted - changed });
})();
";

/// A start of the program on the catalogue and the band that were shown last, by the clocks of the system and of the page; nobody
/// touches the window before all of it is painted.
async fn cold(shelf: &Shelf) -> Outcome {
    let window = Window::open(shelf, Look::default()).await?;
    let process = process_start("boxworth-app")?;
    window.until("performance.getEntriesByName('report painted').length > 0").await?;
    let marks = window
        .page(
            "[['page', performance.timeOrigin]].concat(performance.getEntriesByType('mark').map((it) => \
             [it.name, performance.timeOrigin + it.startTime]))",
        )
        .await?;
    let since = marks
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|it| Some(format!("{} {:.0}", it[0].as_str()?, it[1].as_f64()? - process)));
    println!("cold start, ms after the process: {}", since.collect::<Vec<_>>().join(", "));
    window.close().await
}

/// When the youngest process of this name started, in milliseconds of the clock of the page; by Linux, to a hundredth of a second.
#[expect(
    clippy::disallowed_methods,
    reason = "the clock of the system is what the page is held against"
)]
fn process_start(name: &str) -> Outcome<f64> {
    let now = SystemTime::now().duration_since(UNIX_EPOCH)?.as_secs_f64();
    let uptime: f64 =
        fs::read_to_string("/proc/uptime")?.split(' ').next().ok_or("no uptime")?.parse()?;
    let ticks = fs::read_dir("/proc")?
        .filter_map(|it| fs::read_to_string(it.ok()?.path().join("stat")).ok())
        .filter(|it| it.contains(&format!("({name})")))
        // The 22nd field, counted after the name, which is the second.
        .filter_map(|it| it.rsplit(')').next()?.split(' ').nth(20)?.parse::<f64>().ok())
        .max_by(f64::total_cmp)
        .ok_or("the window is not running")?;
    Ok(1e3 * (now - uptime + ticks / 100.0))
}

#[tokio::main(flavor = "current_thread")]
async fn main() -> Outcome {
    let mut arguments = std::env::args().skip(1);
    let catalogue = arguments.next().ok_or("usage: pace CATALOGUE [LOW..HIGH]")?;
    let band = arguments.next().unwrap_or_else(|| "..".to_owned());
    let shelf = Shelf::bare()?;
    std::fs::copy(&catalogue, shelf.catalogue())?;
    let started = Instant::now();
    let window = Window::open(&shelf, Look::default()).await?;
    println!("process start to a screen: {:.0} ms", started.elapsed().as_secs_f64() * 1e3);
    window.go(&format!("#/band?band={band}"), "#standings").await?;
    println!("  to standings of {band}: {:.0} ms", started.elapsed().as_secs_f64() * 1e3);
    window.until("performance.getEntriesByName('report painted').length > 0").await?;
    window.close().await?;
    for _ in 0..3 {
        cold(&shelf).await?;
    }
    let window = Window::open(&shelf, Look::default()).await?;
    window.until("performance.getEntriesByName('standings painted').length > 0").await?;
    // Once more in a page that starts anew, by the page's own clock: list first, then standings.
    let again = "window.isOld = true; location.reload();";
    window.client().execute(again, Vec::new()).await?;
    let painted =
        "performance.getEntriesByType('mark').map((it) => [it.name, Math.round(it.startTime)])";
    window
        .until("!window.isOld && performance.getEntriesByName('report painted').length > 0")
        .await?;
    window.find(".charts figure svg").await?;
    println!("page start to marks, ms: {}", window.page(painted).await?);
    let n = window.page("document.querySelectorAll('#standings tbody tr').length").await?;
    println!("rows drawn: {n}");
    window.client().set_window_size(1280, 1000).await?;
    // As one slides it, and then as one thinks between two: memory that rests is slow on some virtual machines.
    for (how, rest) in [("slid", 0), ("typed after a rest", 3000)] {
        for at in 0..8 {
            let weight = json!(20 + (at * 13) % 60);
            let it = window.client().execute_async(WEIGHT, vec![weight, json!(rest)]).await?;
            let ms = |key: &str| it[key].as_f64().unwrap_or(f64::NAN);
            println!(
                "weight {how}: script of the key {:.0} ms, echo painted {:.0}, ranks answered {:.0}, script of the answer {:.0}, \
                 painted {:.0} after that",
                ms("key"),
                ms("echo"),
                ms("answer"),
                ms("script"),
                ms("paint")
            );
        }
    }
    window.close().await
}
