//! Products ranked in ten thousand draws, beside numpy on the same numbers in the same run.
//!
//! Run with `cargo xtask bench`, which says where the Python of `cargo xtask verify` is; without it the peer is left out. The two
//! take turns, a round each, with a clock of their own from numbers in memory to counts in memory, and must come to the same counts. Lines
//! with tabs are for the table of `cargo xtask bench`.
//!
//! The last column is counted, not measured: the instructions that the arithmetic alone takes in the best way known here, on two cores
//! that each start two vector instructions of 512 bits a cycle, or one row of sixteen by sixteen scores of a matrix instruction, at 4 GHz
//! (server processors with AVX-512 since 2021, and with AMX since 2023; where there is none, it is no limit of that machine). What is
//! above it goes into loads, stores, transposing, looking through and waking threads.
//!
//! On a virtual machine of that kind with AMX, with little else running, A takes 9.6 ms of 0.8, A4 4.7 of 0.8, B 2.8 of 0.9, Bp 6.5 of
//! 1.0 and Bu 30 of 16; beside numpy that is 12, 17, 10.5, 22 and 20. Of A, two fifths is whole scores, of which the smaller part is
//! the matrix instructions and the rest storing scores and looking through their signs; a third puts some forty products of each
//! draw in order; the rest prepares tables before the draws, and counts after them. Without matrices A takes 3 ms longer. Of B, two
//! fifths is sorting, at half the rate of the instructions since each stage loads and stores what the next one needs; three tenths is
//! scoring, nearly at its rate; a fifth is counting, where each of three million counts is a load and a store of one number. Of Bp, a
//! third is comparing, a third sorting, and the rest reading the scores and finding the places of each product. When single turns
//! alternate with those of numpy, which leaves nothing of ours in the caches, A takes 3 ms longer, and B and Bp 0.7 and 3.

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

use std::hint::black_box;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Stdio};
use std::time::Instant;

use domain::draw::Stream;
use standing::acceptability::acceptability;
use standing::kernel::keys::Given;
use standing::kernel::mix::Mix;
use standing::kernel::noise::Noise;
use standing::kernel::places::Places;
use standing::kernel::top::top;
use standing::profile::Profile;
use standing::weighting::Weightings;

/// Where the Python with numpy is.
const PYTHON: &str = "BOXWORTH_VERIFY_PYTHON";
const DRAWS: usize = 10_000;
const PRODUCTS: usize = 10_000;
const BAND: usize = 300;
/// Subsystems, and criteria of each.
const SUBSYSTEMS: usize = 4;
const EACH: usize = 10;
const CRITERIA: usize = SUBSYSTEMS * EACH;
const DEPTH: usize = 20;
/// Standard error of a point.
const ERROR: f32 = 5.0;
/// The two take turns round by round, so that a machine that grows slow is slow for both; in a round each finds in its caches what it
/// left there, as a program does that ranks again while a weight is moved.
const ROUNDS: usize = 3;
const TURNS: usize = 5;
/// Vector instructions a second: two cores, two a cycle, 4 GHz.
const FASTEST: f64 = 2.0 * 2.0 * 4.0e9;
/// Numbers of 32 bits in a vector.
const LANES: f64 = 16.0;

fn main() {
    let python = std::env::var_os(PYTHON).map(PathBuf::from).filter(|it| it.is_file());
    if python.is_none() {
        println!("numpy is not here; `cargo xtask verify` installs it.");
    }
    let threads = std::thread::available_parallelism().map_or(1, Into::into);
    let data = Data::new(threads);
    let folder = std::env::temp_dir().join(format!("boxworth-ranking-{}", std::process::id()));
    let mut peer = python.map(|it| Peer::start(&it, &folder, &data));
    println!("figures\tranking");
    println!(
        "{:<52} {:>9} {:>9} {:>7} {:>9}",
        format!("medians of {}, {threads} threads", ROUNDS * TURNS),
        "ours, ms",
        "numpy, ms",
        "ratio",
        "floor, ms"
    );
    let mut job = |key: &str, what: &str, instructions: f64, work: &dyn Fn() -> Vec<u32>| {
        let floor = instructions / FASTEST * 1e3;
        let (mut ours, mut theirs) = (Vec::new(), Vec::new());
        let counts = work();
        if let Some(peer) = &mut peer {
            peer.run(key);
            same(key, &counts, &peer.counts(key));
        }
        for _ in 0..ROUNDS {
            for _ in 0..TURNS {
                let start = Instant::now();
                black_box(work());
                ours.push(start.elapsed().as_secs_f64() * 1e3);
            }
            for _ in 0..TURNS {
                theirs.extend(peer.as_mut().map(|it| it.run(key)));
            }
        }
        let (ours, theirs) = (median(ours), (!theirs.is_empty()).then(|| median(theirs)));
        let peer = theirs.map_or("".into(), |it| format!("{it:>9.1} {:>7.1}", it / ours));
        println!("{what:<52} {ours:>9.1} {peer:>17} {floor:>9.1}");
        println!("figure\t{what}\t{ours} ms");
        if let Some(theirs) = theirs {
            println!("peer\tnumpy\t{theirs} ms");
        }
        println!("limit\tthe arithmetic alone\t{floor:.2} ms");
    };
    let top = |points: &[f32], weights: &[f32], criteria: usize| {
        let top = top(points, weights, criteria, DEPTH, threads).expect("sound tables");
        black_box(data.central(PRODUCTS, top.firsts.iter().map(|it| *it as usize)));
        top.counts
    };
    let places = |places: Places| {
        black_box(data.central(BAND, places.firsts().into_iter().map(|it| it.1)));
        (0..BAND).map(|i| places.counts(i)).collect::<Vec<&[u32]>>().concat()
    };
    let band = &data.points[..BAND * CRITERIA];
    let errors = vec![ERROR; band.len()];
    let mix = || Mix::new(band, &data.weights, CRITERIA).expect("sound tables");
    let noise = || Noise::new(band, &errors, &data.weights, CRITERIA, 0).expect("sound tables");
    let draws = DRAWS as f64;
    let (all, band_scores) = (draws * PRODUCTS as f64, draws * BAND as f64);
    // Four numbers of eight bits at a time; or a row of sixteen scores a cycle, in which two vector instructions would start.
    let octets = |criteria: usize| match octets::has_matrices() {
        true => criteria.div_ceil(64) as f64 * all / LANES * 2.0,
        false => all * criteria as f64 / (4.0 * LANES),
    };
    job("A", "A: 10,000 products, 40 weights, first 20", octets(CRITERIA), &|| {
        top(&data.points, &data.weights, CRITERIA)
    });
    // As if all were scored; those that twenty others beat in everything are left out before.
    job("A4", "A4: 10,000 products, 4 weights, first 20", octets(SUBSYSTEMS), &|| {
        top(&data.subsystems, &data.shares, SUBSYSTEMS)
    });
    let scoring = band_scores * CRITERIA as f64 / LANES;
    // The network for 304 rows has 5222 comparisons of a larger and a smaller number.
    let sorting = draws * 5222.0 * 2.0 / LANES;
    job("B", "B: 300 products, 40 weights, all ranks", scoring + sorting, &|| {
        places(Places::of(&mix(), threads))
    });
    // For each pair, a step of comparing for each of the nine bits of a rank, and two to count: one of 512 draws.
    let pairing = band_scores * (BAND - 1) as f64 / 2.0 * 11.0 / (32.0 * LANES);
    job("Bp", "Bp: who of 300 beats whom, from scores", sorting + pairing, &|| {
        Places::with_pairs(&Given::new(&data.scores, BAND), threads).1.all_wins(threads)
    });
    // Of a pair of deviates, 26 instructions make the random bits, 34 the two numbers, and 8 points and scores of them.
    let drawing = band_scores * CRITERIA as f64 * 34.0 / LANES;
    job("Bu", "Bu: as B, each point off by a normal error", drawing + sorting, &|| {
        places(Places::of(&noise(), threads))
    });
    drop(peer);
    product(threads);
}

/// What the program does when a weight is moved: 300 products, 4 subsystems, 1000 finding draws kept, 10,000 weights.
fn product(threads: usize) {
    const FINDINGS: usize = 1000;
    let mut stream = Stream::named("profiles of the bench");
    let drawn: Vec<Vec<Vec<f64>>> = (0..BAND)
        .map(|_| {
            let centre = 30.0 + 40.0 * stream.unit();
            let mut points = || (centre + 6.0 * stream.normal()).clamp(0.0, 100.0);
            (0..SUBSYSTEMS).map(|_| (0..FINDINGS).map(|_| points()).collect()).collect()
        })
        .collect();
    let parts: Vec<Vec<Option<&[f64]>>> =
        drawn.iter().map(|it| it.iter().map(|x| Some(x.as_slice())).collect()).collect();
    let profiles: Vec<Profile<'_>> =
        (0..).zip(&parts).map(|(key, it)| Profile::new(it, key, None).expect("sound")).collect();
    let weights = [0.30, 0.35, 0.25, 0.10];
    let draw = || Weightings::around(&weights, 40.0, DRAWS, 0).expect("shares");
    let given = draw();
    let rank = |given: &Weightings| acceptability(&profiles, given, threads).expect("ranked");
    let ranked = rank(&given);
    let line = |what: &str, ms: f64| {
        println!("  {what:<50} {ms:>9.1}");
        println!("figure\tband of 300 after a change of weights: {what}\t{ms} ms");
    };
    println!("\na band of 300, findings kept, after a change of weights");
    line("draw 10,000 weights", timed(draw));
    line("ranks, ties, central weights", timed(|| rank(&given)));
    line("who beats whom", timed(|| ranked.all_wins(threads)));
    line("all three", timed(|| rank(&draw()).all_wins(threads)));
}

fn timed<T>(work: impl Fn() -> T) -> f64 {
    black_box(work());
    let time = |_| {
        let start = Instant::now();
        black_box(work());
        start.elapsed().as_secs_f64() * 1e3
    };
    median((0..ROUNDS * TURNS).map(time).collect())
}

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_unstable_by(f64::total_cmp);
    times[times.len() / 2]
}

/// Counts over the same draws. Those of A and B may differ where sums of f32 in another order change places; those of Bu are of other
/// draws.
fn same(key: &str, ours: &[u32], theirs: &[u32]) {
    assert_eq!(ours.len(), theirs.len(), "{key}");
    let sum = |it: &[u32]| it.iter().map(|it| u64::from(*it)).sum::<u64>();
    let apart = ours.iter().zip(theirs).map(|(a, b)| u64::from(a.abs_diff(*b))).sum::<u64>();
    match key {
        "Bu" => {
            assert_eq!(sum(ours), sum(theirs), "{key}");
            for (product, (a, b)) in ours.chunks(BAND).zip(theirs.chunks(BAND)).enumerate() {
                let ((a, spread), (b, _)) = (mean(a), mean(b));
                let error = spread * f64::sqrt(2.0 / DRAWS as f64);
                assert!((a - b).abs() < 5.0 * error + 1e-9, "{key}: product {product}: {a}, {b}");
            }
        }
        "Bp" => assert_eq!(apart, 0, "{key}"),
        _ => {
            assert_eq!(sum(ours), sum(theirs), "{key}");
            assert!(apart <= sum(ours) / 1000, "{key}: {apart} of {} differ", sum(ours));
        }
    }
}

/// Mean and standard deviation of the ranks of one product.
fn mean(counts: &[u32]) -> (f64, f64) {
    let moment = |power: i32| {
        let terms =
            (0..).zip(counts).map(|(r, count)| f64::from(r).powi(power) * f64::from(*count));
        terms.sum::<f64>() / DRAWS as f64
    };
    (moment(1), (moment(2) - moment(1).powi(2)).max(0.0).sqrt())
}

struct Data {
    /// A row a product; the band are the first ones.
    points: Vec<f32>,
    /// The plain means of each subsystem.
    subsystems: Vec<f32>,
    /// A row a draw: shares of the criteria, and of the subsystems.
    weights: Vec<f32>,
    shares: Vec<f32>,
    /// Scores of the band, a row a draw.
    scores: Vec<f32>,
}

impl Data {
    fn new(threads: usize) -> Self {
        let mut stream = Stream::named("tables of the bench");
        #[expect(clippy::cast_possible_truncation, reason = "the tables are in f32")]
        let mut unit = || stream.unit() as f32;
        let points: Vec<f32> = (0..PRODUCTS * CRITERIA).map(|_| 100.0 * unit()).collect();
        let subsystems =
            points.chunks(EACH).map(|it| it.iter().sum::<f32>() / EACH as f32).collect();
        let mut simplex = |parts: usize| {
            let drawn: Vec<f32> =
                (0..parts).map(|_| -(1.0 - unit()).max(f32::MIN_POSITIVE).ln()).collect();
            let sum: f32 = drawn.iter().sum();
            drawn.into_iter().map(|it| it / sum).collect::<Vec<f32>>()
        };
        let (mut shares, mut weights) = (Vec::new(), Vec::new());
        for _ in 0..DRAWS {
            let row = simplex(SUBSYSTEMS);
            for share in &row {
                weights.extend(simplex(EACH).into_iter().map(|it| share * it));
            }
            shares.extend(row);
        }
        let band = &points[..BAND * CRITERIA];
        let score = |w: &[f32], x: &[f32]| w.iter().zip(x).map(|(w, x)| w * x).sum::<f32>();
        let row = |w: &[f32]| band.chunks(CRITERIA).map(|x| score(w, x)).collect::<Vec<f32>>();
        let scores: Vec<f32> = std::thread::scope(|scope| {
            let chunks = weights.chunks(DRAWS.div_ceil(threads) * CRITERIA);
            let all: Vec<_> = chunks
                .map(|it| scope.spawn(|| it.chunks(CRITERIA).flat_map(row).collect::<Vec<f32>>()))
                .collect();
            all.into_iter().flat_map(|it| it.join().expect("scored")).collect()
        });
        Data { points, subsystems, weights, shares, scores }
    }

    /// Sums of the shares of the subsystems over the draws that each product wins.
    fn central(&self, n: usize, firsts: impl Iterator<Item = usize>) -> Vec<[f64; SUBSYSTEMS]> {
        let mut sums = vec![[0.0; SUBSYSTEMS]; n];
        for (shares, first) in self.shares.chunks(SUBSYSTEMS).zip(firsts) {
            for (sum, share) in sums[first].iter_mut().zip(shares) {
                *sum += f64::from(*share);
            }
        }
        sums
    }
}

/// A Python that has the tables in memory and does a job when its key is written to it.
struct Peer {
    process: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
    folder: PathBuf,
}

impl Peer {
    fn start(python: &Path, folder: &Path, data: &Data) -> Self {
        std::fs::create_dir_all(folder).expect("a temporary folder");
        for (name, table) in [
            ("points", &data.points),
            ("subsystems", &data.subsystems),
            ("weights", &data.weights),
            ("shares", &data.shares),
            ("scores", &data.scores),
        ] {
            let bytes: Vec<u8> = table.iter().flat_map(|it| it.to_le_bytes()).collect();
            std::fs::write(folder.join(name), bytes).expect("a table written");
        }
        let program =
            Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../tests/verify/peer_ranking.py");
        #[expect(clippy::disallowed_methods, reason = "a bench that starts its peer")]
        let mut process = std::process::Command::new(python)
            // No compiled copies beside the sources.
            .arg("-B")
            .args([&program, folder])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .expect("Python starts");
        let to = process.stdin.take().expect("a pipe");
        let from = BufReader::new(process.stdout.take().expect("a pipe"));
        Peer { process, to, from, folder: folder.to_owned() }
    }

    /// Does a job once; milliseconds.
    fn run(&mut self, key: &str) -> f64 {
        writeln!(self.to, "{key}").expect("Python listens");
        let mut line = String::new();
        self.from.read_line(&mut line).expect("Python answers");
        line.trim().parse().unwrap_or_else(|_| panic!("{key}: {line:?} is no time"))
    }

    /// The counts of the last run of a job.
    fn counts(&self, key: &str) -> Vec<u32> {
        let bytes = std::fs::read(self.folder.join(format!("{key}.counts"))).expect("counts");
        bytes.as_chunks().0.iter().map(|it| u32::from_le_bytes(*it)).collect()
    }
}

impl Drop for Peer {
    fn drop(&mut self) {
        // Without input it ends by itself; what cannot be removed is in the temporary folder.
        let _ = writeln!(self.to);
        let _ = self.process.wait();
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}
