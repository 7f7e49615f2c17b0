//! The figures that benches print, read from what they print.
//!
//! Benches with a table of their own say each figure once more in lines for this: `figures`, `figure`, `peer`, `limit`,
//! `memory` and `memory limit`, with tabs between the fields. Those that divan runs have its tree, of which the median is taken.

/// What one bench measured.
#[derive(Debug, PartialEq)]
pub(super) struct Bench {
    pub(super) name: String,
    pub(super) figures: Vec<Figure>,
    /// Peaks of memory.
    pub(super) memory: Vec<Memory>,
}

/// The most memory that something held, in MiB, and what is aimed at.
#[derive(Debug, PartialEq)]
pub(super) struct Memory {
    pub(super) what: String,
    pub(super) mib: u64,
    pub(super) limit: Option<(String, u64)>,
}

/// One time, and what it is held against.
#[derive(Debug, PartialEq)]
pub(super) struct Figure {
    pub(super) what: String,
    pub(super) ours: Time,
    /// Tools that do the same, with their times.
    pub(super) peers: Vec<(String, Time)>,
    /// What nothing can be faster than, or what is aimed at.
    pub(super) limit: Option<(String, Time)>,
}

/// A time in seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Time(pub(super) f64);

impl Time {
    /// A number and its unit, as divan writes them.
    fn read(text: &str) -> Result<Time, String> {
        let parts: Vec<&str> = text.split_whitespace().collect();
        let [number, unit] = parts[..] else {
            return Err(format!("`{text}` is no time; a number and a unit are"));
        };
        let units = [("s", 1.0), ("ms", 1e-3), ("µs", 1e-6), ("ns", 1e-9)];
        let scale = units.iter().find(|(name, _)| *name == unit).map(|it| it.1);
        let number: Option<f64> = number.parse().ok().filter(|it: &f64| it.is_finite());
        match (number, scale) {
            (Some(number), Some(scale)) => Ok(Time(number * scale)),
            _ => Err(format!("`{text}` is no time; units are s, ms, µs and ns")),
        }
    }

    /// With three figures, in the unit that suits.
    pub(super) fn shown(self) -> String {
        let units = [("s", 1.0), ("ms", 1e-3), ("µs", 1e-6), ("ns", 1e-9)];
        let fits = units.iter().find(|(_, scale)| self.0 >= *scale);
        let (unit, scale) = fits.unwrap_or(&units[3]);
        format!("{} {unit}", three(self.0 / scale))
    }
}

/// Three significant figures of a number between 0 and 1000; larger ones whole.
pub(super) fn three(number: f64) -> String {
    let places = if number < 9.995 {
        2
    } else if number < 99.95 {
        1
    } else {
        0
    };
    format!("{number:.places$}")
}

/// Functions of a divan bench that are the peer of another one: bench, whose peer, its own name, and what it does.
const DIVAN_PEERS: &[(&str, &str, &str, &str)] = &[
    ("import", "import", "peer_bare_rows", "as many bare rows into SQLite, equally durable"),
    ("band", "cold", "peer_without_scoring", "the same read and computed, nothing scored"),
];

/// Reads all that the benches printed, one after another. The error names the line.
pub(super) fn read(printed: &str) -> Result<Vec<Bench>, String> {
    let mut all: Vec<Bench> = Vec::new();
    // Names of divan's groups, each with how far its line was indented.
    let mut groups: Vec<(usize, String)> = Vec::new();
    for (at, line) in printed.lines().enumerate() {
        let faulty = |why: String| format!("line {} of the benches: {why}", at + 1);
        let fields: Vec<&str> = line.split('\t').collect();
        if let ["figures", name] = fields[..] {
            all.push(Bench { name: name.to_owned(), figures: Vec::new(), memory: Vec::new() });
        } else if let [kind @ ("memory" | "memory limit"), what, amount] = fields[..] {
            remember(&mut all, kind, what, amount).map_err(faulty)?;
        } else if let [kind @ ("figure" | "peer" | "limit"), what, time] = fields[..] {
            let time = Time::read(time).map_err(faulty)?;
            add(&mut all, kind, what, time).map_err(faulty)?;
        } else if let Some(name) = divan_heading(line) {
            groups.clear();
            all.push(Bench { name: name.to_owned(), figures: Vec::new(), memory: Vec::new() });
        } else if let Some((depth, name, columns)) = divan_row(line) {
            groups.retain(|(it, _)| *it < depth);
            // Fastest, slowest, median.
            match columns.get(2) {
                Some(median) if !median.is_empty() => {
                    let path: Vec<&str> =
                        groups.iter().map(|it| it.1.as_str()).chain([name]).collect();
                    let time = Time::read(median).map_err(faulty)?;
                    add(&mut all, "figure", &path.join(", "), time).map_err(faulty)?;
                }
                _ => groups.push((depth, name.to_owned())),
            }
        }
    }
    all.iter_mut().try_for_each(pair)?;
    all.retain(|it| !it.figures.is_empty());
    Ok(all)
}

fn add(all: &mut [Bench], kind: &str, what: &str, time: Time) -> Result<(), String> {
    let bench = all.last_mut().ok_or("no bench has said its name")?;
    if kind == "figure" {
        let what = what.to_owned();
        bench.figures.push(Figure { what, ours: time, peers: Vec::new(), limit: None });
        return Ok(());
    }
    let figure = bench.figures.last_mut().ok_or_else(|| format!("a {kind} of no figure"))?;
    if kind == "peer" {
        figure.peers.push((what.to_owned(), time));
    } else {
        figure.limit = Some((what.to_owned(), time));
    }
    Ok(())
}

fn remember(all: &mut [Bench], kind: &str, what: &str, amount: &str) -> Result<(), String> {
    let bench = all.last_mut().ok_or("no bench has said its name")?;
    let mib = amount.strip_suffix(" MiB").and_then(|it| it.parse().ok());
    let mib = mib.ok_or_else(|| format!("`{amount}` is no amount of memory; `12 MiB` is"))?;
    if kind == "memory" {
        bench.memory.push(Memory { what: what.to_owned(), mib, limit: None });
        return Ok(());
    }
    let last = bench.memory.last_mut().ok_or("a memory limit of no memory")?;
    last.limit = Some((what.to_owned(), mib));
    Ok(())
}

/// Puts the peers that divan ran as figures beside whose peers they are.
fn pair(bench: &mut Bench) -> Result<(), String> {
    for (name, of, own, does) in DIVAN_PEERS.iter().filter(|it| it.0 == bench.name) {
        let at = bench.figures.iter().position(|it| it.what == *own);
        let peer = at.map(|it| bench.figures.remove(it));
        let figure = bench.figures.iter_mut().find(|it| it.what == *of);
        match (peer, figure) {
            (Some(peer), Some(figure)) => figure.peers.push(((*does).to_owned(), peer.ours)),
            _ => return Err(format!("the bench {name} has no `{of}` and `{own}` side by side")),
        }
    }
    Ok(())
}

/// The bench's name in the line above divan's columns.
fn divan_heading(line: &str) -> Option<&str> {
    let (name, columns) = line.split_once(' ')?;
    columns.trim_start().starts_with("fastest ").then_some(name)
}

/// Depth, name and columns of a row of divan's tree.
fn divan_row(line: &str) -> Option<(usize, &str, Vec<&str>)> {
    let branch = line.find("├─ ").or_else(|| line.find("╰─ "))?;
    if !line[..branch].chars().all(|it| it == ' ' || it == '│') {
        return None;
    }
    let depth = line[..branch].chars().count();
    let rest = line[branch..].trim_start_matches(['├', '╰', '─', ' ']);
    let (name, columns) = rest.split_once(' ')?;
    Some((depth, name, columns.split('│').map(str::trim).collect()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The form is divan 0.1.21's (`tree_painter.rs`); the numbers are invented.
    const TREE: &str = "\
Timer precision: 20 ns
import             fastest       │ slowest       │ median        │ mean          │ samples │ iters
├─ import          60.1 ms       │ 70.2 ms       │ 62.5 ms       │ 63 ms         │ 20      │ 20
├─ peer_bare_rows  24 ms         │ 30 ms         │ 25 ms         │ 26 ms         │ 20      │ 20
╰─ read_files      9.1 ms        │ 11 ms         │ 9.5 ms        │ 9.6 ms        │ 20      │ 20
                   4.94 Kitem/s  │ 4.09 Kitem/s  │ 4.73 Kitem/s  │ 4.68 Kitem/s  │         │

shelf              fastest       │ slowest       │ median        │ mean          │ samples │ iters
├─ list_cold                     │               │               │               │         │
│  ├─ 1000         30 ms         │ 31 ms         │ 30.5 ms       │ 30.4 ms       │ 5       │ 5
│  ╰─ 10000        300 ms        │ 310 ms        │ 305 ms        │ 304 ms        │ 5       │ 5
╰─ search                        │               │               │               │         │
   ╰─ 1000         1.2 s         │ 1.3 s         │ 1.25 s        │ 1.25 s        │ 5       │ 5
";

    fn named<'a>(all: &'a [Bench], bench: &str, what: &str) -> &'a Figure {
        let bench = all.iter().find(|it| it.name == bench).expect("the bench");
        bench.figures.iter().find(|it| it.what == what).unwrap_or_else(|| panic!("{what}"))
    }

    fn close(time: Time, seconds: f64) -> bool {
        (time.0 / seconds - 1.0).abs() < 1e-12
    }

    #[test]
    fn the_median_of_each_row_of_a_tree_is_taken_with_its_peer() {
        let all = read(TREE).expect("read");
        let import = named(&all, "import", "import");
        assert!(close(import.ours, 0.0625));
        assert!(import.peers[0].0.contains("bare rows") && close(import.peers[0].1, 0.025));
        assert!(close(named(&all, "import", "read_files").ours, 0.0095));
        assert!(close(named(&all, "shelf", "list_cold, 10000").ours, 0.305));
        assert!(close(named(&all, "shelf", "search, 1000").ours, 1.25));
        let count: usize = all.iter().map(|it| it.figures.len()).sum();
        assert_eq!(count, 5);
    }

    #[test]
    fn lines_of_fields_are_read_among_others() {
        let printed = "numpy is not here\nfigures\tranking\nfigure\tB: 300 products\t12.5 ms\n\
                       peer\tnumpy\t100 ms\nlimit\tarithmetic alone\t6 ms\nfigure\tother\t3 µs\n";
        let all = read(printed).expect("read");
        let figure = named(&all, "ranking", "B: 300 products");
        assert!(close(figure.peers[0].1, 0.1));
        assert!(figure.limit.as_ref().is_some_and(|it| close(it.1, 0.006)));
        assert!(named(&all, "ranking", "other").peers.is_empty());
    }

    #[test]
    fn memory_stands_beside_its_limit() {
        let printed = "figures\tscale\nfigure\topen\t1 ms\nmemory\trank\t120 MiB\nmemory limit\tthe aim\t400 MiB\n";
        let all = read(printed).expect("read");
        let limit = Some(("the aim".to_owned(), 400));
        assert_eq!(all[0].memory, [Memory { what: "rank".into(), mib: 120, limit }]);
    }

    #[test]
    fn what_cannot_be_read_is_named() {
        for (printed, part) in [
            ("figures\ta\nmemory\tb\tmuch\n", "`much` is no amount"),
            ("figures\ta\nmemory limit\tb\t1 MiB\n", "a memory limit of no memory"),
            ("figures\ta\nfigure\tb\tsoon\n", "line 2 of the benches: `soon`"),
            ("figures\ta\nfigure\tb\t1 h\n", "line 2 of the benches: `1 h`"),
            ("figure\tb\t1 s\n", "line 1 of the benches: no bench"),
            ("figures\ta\npeer\tb\t1 s\n", "line 2 of the benches: a peer of no figure"),
            ("import  fastest │ x\n├─ import  1 s │ 1 s │ 1 s │ 1 s\n", "`peer_bare_rows`"),
        ] {
            let fault = read(printed).expect_err(printed);
            assert!(fault.contains(part), "{fault}");
        }
    }

    #[test]
    fn times_are_shown_with_three_figures() {
        for (seconds, shown) in [
            (0.0123, "12.3 ms"),
            (1.25, "1.25 s"),
            (0.000_305, "305 µs"),
            (2.5e-10, "0.25 ns"),
            (75.0, "75.0 s"),
            (0.009_996, "10.0 ms"),
        ] {
            assert_eq!(Time(seconds).shown(), shown);
        }
    }
}
