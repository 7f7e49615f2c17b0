//! What a large catalogue costs: 300, 10,000 and 100,000 invented products, and a band of about 300 of them in each.
//!
//! Run with `cargo xtask bench`, which builds worker and plugins first and says where they are. Each size is measured in a
//! process of its own, so that its peak of memory is its own (`VmHWM`, and the sum with its workers). The catalogues are made
//! once, which takes some minutes, and kept in the folder for temporary files under their seed, size and program; what is
//! written is written to a copy. The aim of memory is that of a first look at a band; what asks more often keeps more. The files lie in the memory of the system, as after a first look at them.
//! The limit of what is read is the same read without anything computed: rows of prices and of the band's findings made to
//! domain types, by `catalog` alone. A time that grows ten times as the catalogue does is linear; what is about a band should
//! not grow at all but for the prices, which say who is in it. Lines with tabs are for `cargo xtask bench`.

#![expect(clippy::print_stdout, reason = "a program for the terminal")]
#![expect(clippy::expect_used, reason = "a bench that cannot start has nothing to say")]

use std::collections::BTreeMap;
use std::env;
use std::fs;
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::time::Instant;

use catalog::{Reader, Share};
use domain::{dictionary::Dictionary, key::ProductKey};
use engine::{
    BandRequest, BandsRequest, Engine, EngineOptions, ImportRequest, NotesRequest, ProductsRequest,
    PublishRequest, ShowRequest, unwatched,
};

const SIZES: [usize; 3] = [300, 10_000, 100_000];
/// About how many products are ranked, and how many the band then holds: of the others too little was found.
const RANKED: usize = 300;
const INSIDE: u32 = 560;
/// The lowest price of the band, where the prices of a market are dense.
const FROM: f64 = 300.0;
const TURNS: usize = 5;
/// What a first ranking of the largest catalogue, and one after a change of weights, may take.
const AIMS: [(&str, f64); 2] = [("ranks, from a closed file", 1.5), ("ranks, another weight", 0.3)];
/// What the largest may take of memory, in MiB.
const AIM_MIB: u64 = 400;

fn main() {
    let asked: Vec<String> = env::args().filter(|it| it != "--bench").skip(1).collect();
    if let [part, size, file] = &asked[..] {
        let shelf = Shelf::new(Path::new(file), size.parse().expect("a size"));
        // Its workers run as long as it does.
        let engine = match part.as_str() {
            "first" => first(&shelf),
            "rank" => rank(&shelf),
            "list" => list(&shelf),
            _ => write(&shelf),
        };
        println!("peak\t{part}\t{}\t{}", peak_kib("self"), workers_kib());
        drop(engine);
        return;
    }
    println!("figures\tscale");
    for size in SIZES {
        let file = catalogue(size);
        let bytes = fs::metadata(&file).expect("the catalogue").len();
        println!("{size} products, {} MB, {} bytes each", bytes / 1_000_000, bytes / size as u64);
        for part in ["first", "rank", "list", "write"] {
            told(size, part, &file);
        }
    }
}

/// Runs one part of a size in a process of its own, and says its figures with the size.
fn told(size: usize, part: &str, file: &Path) {
    #[expect(clippy::disallowed_methods, reason = "memory is measured in a process of its own")]
    let mut command = std::process::Command::new(env::current_exe().expect("this program"));
    let out = command.arg(part).arg(size.to_string()).arg(file).output().expect("started");
    let text = String::from_utf8_lossy(&out.stdout);
    assert!(out.status.success(), "{part} of {size}: {}", String::from_utf8_lossy(&out.stderr));
    for line in text.lines() {
        let fields: Vec<&str> = line.split('\t').collect();
        match fields[..] {
            ["figure", what, seconds] => {
                println!("  {what:<44} {:>10.1} ms", seconds.parse::<f64>().expect("s") * 1e3);
                println!("figure\t{what}, {size} products\t{seconds} s");
                let aim = AIMS.iter().find(|it| it.0 == what && size == 100_000);
                if let Some((_, aim)) = aim {
                    println!("limit\tthe aim\t{aim} s");
                }
            }
            ["limit", what, seconds] => println!("limit\t{what}\t{seconds} s"),
            ["peak", _, own, workers] => {
                let mib = |kib: &str| kib.parse::<u64>().expect("KiB").div_ceil(1024);
                println!("  peak of memory: {} MiB, workers {} MiB", mib(own), mib(workers));
                println!("memory\t{part}, {size} products\t{} MiB", mib(own) + mib(workers));
                if size == 100_000 && part == "first" {
                    println!("memory limit\tthe aim\t{AIM_MIB} MiB");
                }
            }
            _ => println!("  {line}"),
        }
    }
}

/// The catalogue of a size, made when it is not there yet.
fn catalogue(size: usize) -> PathBuf {
    let folder = env::temp_dir().join("boxworth-scale");
    fs::create_dir_all(&folder).expect("a folder");
    let version = env!("CARGO_PKG_VERSION");
    let file = folder.join(format!("seed-0-{size}-{version}.boxworth"));
    if !file.exists() {
        let start = Instant::now();
        let unfinished = folder.join(format!("{size}-{}.unfinished", std::process::id()));
        generate::write(&unfinished, 0, size, &mut |_| {}).expect("written");
        fs::rename(&unfinished, &file).expect("named");
        println!("{size} products made in {:.0} s", start.elapsed().as_secs_f64());
    }
    file
}

struct Shelf {
    file: PathBuf,
    size: usize,
}

impl Shelf {
    fn new(file: &Path, size: usize) -> Self {
        Shelf { file: file.to_owned(), size }
    }

    fn open(&self) -> Engine {
        let today = Some(generate::AS_OF.parse().expect("a date"));
        let catalogue = self.file.clone();
        Engine::open(EngineOptions { catalogue, require_sandbox: true, today, cache: None })
            .expect("opened")
    }

    /// The band from [`FROM`] up in which about [`RANKED`] products are ranked; of the smallest catalogue all.
    fn band(&self) -> (Option<f64>, Option<f64>) {
        if self.size <= RANKED {
            return (None, None);
        }
        let engine = self.open();
        let inside = |high: f64| {
            let request = BandsRequest { low: Some(FROM), high: Some(high), kind: None };
            engine.bands(&request).expect("bands").inside
        };
        let mut high = FROM + 1.0;
        while inside(high + 1.0) <= INSIDE {
            high += 1.0;
        }
        (Some(FROM), Some(high))
    }
}

fn request((low, high): (Option<f64>, Option<f64>), cabinet: f64) -> BandRequest {
    let weights = Some(BTreeMap::from([("cabinet".to_owned(), cabinet)]));
    BandRequest { low, high, weights, ..BandRequest::default() }
}

/// Says the median of some turns.
fn figure(what: &str, turns: usize, mut work: impl FnMut()) {
    let mut times: Vec<f64> = (0..turns)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    println!("figure\t{what}\t{}", times[times.len() / 2]);
}

/// The time of some work alone, as what another figure is held against.
fn limit(what: &str, mut work: impl FnMut()) {
    let mut times: Vec<f64> = (0..TURNS)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    println!("limit\t{what}\t{}", times[times.len() / 2]);
}

/// What a reviewer does first: a band from a closed file, then another weight. For the memory that this takes.
fn first(shelf: &Shelf) -> Engine {
    let band = shelf.band();
    let engine = shelf.open();
    engine.ranks(&request(band, 25.0)).expect("ranks");
    engine.ranks(&request(band, 26.0)).expect("ranks");
    engine
}

/// A band: from a closed file, and while a weight is moved.
fn rank(shelf: &Shelf) -> Engine {
    let band = shelf.band();
    figure("open", TURNS, || drop(black_box(shelf.open())));
    figure("prices and offered bands, from a closed file", TURNS, || {
        shelf.open().bands(&BandsRequest::default()).expect("bands");
    });
    limit("the same rows read", || {
        black_box(Reader::open(&shelf.file).and_then(|it| it.priced(Share::WHOLE)).expect("read"));
    });
    let (mut keys, mut ranked): (Vec<ProductKey>, usize) = (Vec::new(), 0);
    figure("ranks, from a closed file", TURNS, || {
        let report = shelf.open().ranks(&request(band, 25.0)).expect("ranks");
        ranked = report.rows.len();
        keys = report.rows.iter().filter_map(|it| ProductKey::parse(&it.product).ok()).collect();
    });
    println!("the band {band:?} ranks {ranked} products");
    if shelf.size < 100_000 {
        limit("the same rows read", || {
            let reader = Reader::open(&shelf.file).expect("opened");
            black_box(reader.priced(Share::WHOLE).expect("read"));
            black_box(reader.dossiers_of(&keys, &Dictionary::standard()).expect("read"));
        });
    }
    let engine = shelf.open();
    engine.ranks(&request(band, 25.0)).expect("ranks");
    let mut weight = 25.0;
    figure("ranks, another weight", 4 * TURNS, || {
        weight += 1.0;
        engine.ranks(&request(band, weight)).expect("ranks");
    });
    engine.band(&request(band, 25.0)).expect("a report");
    figure("whole answer, another weight", TURNS, || {
        weight += 1.0;
        engine.band(&request(band, weight)).expect("a report");
    });
    figure("whole answer, from a closed file", TURNS, || {
        shelf.open().band(&request(band, 25.0)).expect("a report");
    });
    engine
}

/// The list of the window, a search, and what is asked about the rows in view.
fn list(shelf: &Shelf) -> Engine {
    let turns = if shelf.size > 10_000 { 1 } else { TURNS };
    let all = ProductsRequest::default();
    let mut view = Vec::new();
    figure("list, from a closed file", turns, || {
        let list = shelf.open().products(&all).expect("a list");
        view = list.products.iter().take(40).map(|it| it.product.clone()).collect();
    });
    let engine = shelf.open();
    engine.products(&all).expect("a list");
    figure("list, again", TURNS, || drop(engine.products(&all).expect("a list")));
    let search = |engine: &Engine| {
        let words = Some("hot glue".into());
        engine.products(&ProductsRequest { words, ..all.clone() }).expect("a list");
    };
    // The first search reads all that is written; the next ones go through what it kept.
    figure("search for two words, from a closed file", turns, || search(&shelf.open()));
    search(&engine);
    figure("search for two words, again", TURNS, || search(&engine));
    figure("remarks and doubts of 40 rows", TURNS, || {
        engine.notes(&NotesRequest { products: view.clone() }).expect("notes");
    });
    figure("sheet of one product, from a closed file", TURNS, || {
        let product = view[0].clone();
        shelf.open().show(&ShowRequest { product }).expect("a sheet");
    });
    engine
}

/// One more product, and a publication of the band, in a copy of the file.
fn write(shelf: &Shelf) -> Engine {
    let copy = Copy::of(shelf);
    let shelf = &copy.shelf;
    let band = shelf.band();
    let engine = shelf.open();
    let seed = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../seed-catalog/products");
    let entries = |of: &Path| -> Vec<PathBuf> {
        let list = fs::read_dir(of).expect("the seed");
        list.map(|it| it.expect("an entry").path()).collect()
    };
    let mut files: Vec<PathBuf> = entries(&seed).iter().flat_map(|it| entries(it)).collect();
    files.retain(|it| it.extension().is_some_and(|it| it == "toml"));
    files.sort();
    let mut files = files.into_iter();
    let mut import = || {
        let paths = vec![files.next().expect("a product of the seed")];
        engine.import(&ImportRequest { paths, dry_run: false }, &mut unwatched).expect("imported");
    };
    figure("import of one product, with the copy of the day", 1, &mut import);
    figure("import of one product, later", 3, import);
    figure("publication of the band, all formats", 1, || {
        let request = PublishRequest { band: request(band, 25.0), ..PublishRequest::default() };
        engine.publish(&request, &mut unwatched).expect("published");
    });
    engine
}

/// A copy of a catalogue in a folder of its own, which goes with it.
struct Copy {
    _folder: tempfile::TempDir,
    shelf: Shelf,
}

impl Copy {
    fn of(shelf: &Shelf) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("copy.boxworth");
        fs::copy(&shelf.file, &file).expect("copied");
        Copy { _folder: folder, shelf: Shelf::new(&file, shelf.size) }
    }
}

/// The most memory that a process has held, in KiB; 0 where the system does not say.
fn peak_kib(process: &str) -> u64 {
    let text = fs::read_to_string(format!("/proc/{process}/status")).unwrap_or_default();
    let line = text.lines().find_map(|it| it.strip_prefix("VmHWM:")).unwrap_or("0 kB");
    line.trim().trim_end_matches(" kB").parse().unwrap_or(0)
}

/// The same of the processes that this one has started and that still run.
fn workers_kib() -> u64 {
    let tasks = fs::read_dir("/proc/self/task").into_iter().flatten().flatten();
    let lists = tasks.filter_map(|it| fs::read_to_string(it.path().join("children")).ok());
    let text: Vec<String> = lists.collect();
    text.iter().flat_map(|it| it.split_whitespace()).map(peak_kib).sum()
}
