//! The table of all benches, as Markdown.

use super::{
    figures::{Bench, Time, three},
    growth,
};

/// Where and when it was measured.
pub(super) struct Circumstances {
    /// Processor, threads and memory.
    pub(super) machine: String,
    pub(super) compiler: String,
    /// `YYYY-MM-DD`.
    pub(super) day: String,
    /// How many programs wanted to run, on average of the minute before it began, where the system says so.
    pub(super) load: Option<String>,
}

/// One table for each bench; a figure with several peers has a row for each. `picture` is where that of growth is.
pub(super) fn markdown(benches: &[Bench], at: &Circumstances, picture: &str) -> String {
    let load = at.load.as_ref().map_or("not known".to_owned(), Clone::clone);
    let mut text = format!(
        "# Benches\n\n\
         Written by `cargo xtask bench`; changed by nothing else. Medians of a release build.\n\n\
         - Machine: {}\n- Compiler: {}\n- Day: {}\n- Load before it began: {load}\n\n\
         A *peer* is another tool that does the same on the same numbers in the same run; above 1, the ratio says how \
         many times as long it takes. A *limit* is what cannot be done in less, or what is aimed at; the ratio says how \
         many times as long we take. Where a column is empty, there is none, or it was not installed.\n",
        at.machine, at.compiler, at.day
    );
    for bench in benches {
        text.push_str(&format!(
            "\n## {}\n\n\
             | figure | ours | peer | its time | peer / ours | limit | its time | ours / limit |\n\
             |---|--:|---|--:|--:|---|--:|--:|\n",
            bench.name
        ));
        for it in &bench.figures {
            let limit = of(it.limit.as_ref(), |time| it.ours.0 / time.0);
            let peers: Vec<Option<&(String, Time)>> =
                if it.peers.is_empty() { vec![None] } else { it.peers.iter().map(Some).collect() };
            for peer in peers {
                let peer = of(peer, |time| time.0 / it.ours.0);
                let what = it.what.replace('|', "\\|");
                text.push_str(&format!("| {what} | {} | {peer} | {limit} |\n", it.ours.shown()));
            }
        }
        text.push_str(&growth::markdown(bench, picture));
        text.push_str(&memory(bench));
    }
    text
}

/// The peaks of memory of a bench, with its workers; empty where none were taken.
fn memory(bench: &Bench) -> String {
    if bench.memory.is_empty() {
        return String::new();
    }
    let mut text =
        "\n| peak of memory, with workers | ours | limit | its amount |\n|---|--:|---|--:|\n"
            .to_owned();
    for it in &bench.memory {
        let limit = it.limit.as_ref();
        let limit = limit.map_or("| ".into(), |(name, mib)| format!("{name} | {mib} MiB"));
        text.push_str(&format!("| {} | {} MiB | {limit} |\n", it.what, it.mib));
    }
    text
}

/// Name, time and ratio; three empty cells without.
fn of(other: Option<&(String, Time)>, ratio: impl Fn(Time) -> f64) -> String {
    match other {
        Some((name, time)) => format!("{name} | {} | {}", time.shown(), three(ratio(*time))),
        None => "| | ".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::figures;

    #[test]
    fn each_figure_stands_with_peers_and_limit() {
        let printed = "figures\tranking\nfigure\tall ranks\t10 ms\npeer\tone\t80 ms\npeer\ttwo\t5 ms\n\
                       limit\tarithmetic\t8 ms\nfigure\talone\t2 s\n";
        let benches = figures::read(printed).expect("read");
        let at = Circumstances {
            machine: "a machine".to_owned(),
            compiler: "a compiler".to_owned(),
            day: "2026-01-02".to_owned(),
            load: None,
        };
        let text = markdown(&benches, &at, "a.svg");
        let rows: Vec<&str> = text.lines().skip_while(|it| !it.starts_with("|---")).collect();
        assert_eq!(
            rows[1..],
            [
                "| all ranks | 10.0 ms | one | 80.0 ms | 8.00 | arithmetic | 8.00 ms | 1.25 |",
                "| all ranks | 10.0 ms | two | 5.00 ms | 0.50 | arithmetic | 8.00 ms | 1.25 |",
                "| alone | 2.00 s | | |  | | |  |",
            ]
        );
        assert!(text.contains("- Machine: a machine\n") && text.contains("began: not known\n"));
    }
}
