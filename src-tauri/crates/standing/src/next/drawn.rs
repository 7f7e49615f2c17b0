//! What learning a source settles, from the draws alone.

use super::{
    doubt::{self, Scores},
    share::{BINS, Sorted},
};

/// Stretches of equal numbers of draws, from the lowest score to the highest, in which a rival's probability is
/// averaged. Beside a distribution of the rival they lie so close that nothing is lost; with them a bin costs 32
/// products and not as many as there are draws.
const CELLS: usize = 32;

/// A rival of a product whose order against it is not settled.
#[derive(Debug)]
pub(super) struct Rival<'a> {
    /// Its place among the products.
    pub(super) place: usize,
    /// The product's mean lead over it in standard deviations.
    pub(super) lead: f64,
    /// The variance of the lead, points squared.
    pub(super) variance: f64,
    scores: &'a Scores,
    /// Found when first asked for: most rivals are too far off for most sources.
    against: Option<Against>,
}

/// How the draws of a product stand against those of a rival.
#[derive(Debug)]
pub(super) struct Against {
    /// The probability that the rival is below, in each cell of the product's draws.
    below: [f64; CELLS],
    /// The same over all draws.
    above: f64,
    /// The sum over draws of squares of `below` about `above`.
    squares: f64,
}

/// The cell of place `at` of `n` sorted draws.
fn cell(at: usize, n: usize) -> usize {
    at * CELLS / n
}

impl<'a> Rival<'a> {
    pub(super) fn new(place: usize, scores: &Scores, rival: &'a Scores) -> Self {
        let variance = scores.variance + rival.variance;
        Rival { place, lead: scores.lead(rival), variance, scores: rival, against: None }
    }

    /// How the draws of `scores`, those of the product that this is a rival of, stand against its own.
    pub(super) fn against(&mut self, scores: &Scores) -> &Against {
        self.against.get_or_insert_with(|| Against::new(scores, self.scores))
    }
}

impl Against {
    #[expect(clippy::cast_precision_loss, reason = "counts of draws")]
    fn new(scores: &Scores, rival: &Scores) -> Self {
        let (n, m) = (scores.sorted.len(), rival.sorted.len());
        let (mut twice, mut counts) = ([0_usize; CELLS], [0_usize; CELLS]);
        scores.each_below(&rival.sorted, |at, found| {
            twice[cell(at, n)] += found;
            counts[cell(at, n)] += 1;
        });
        let above = twice.iter().sum::<usize>() as f64 / (2 * n * m) as f64;
        let mut below = [0.0; CELLS];
        for (below, (twice, count)) in below.iter_mut().zip(twice.iter().zip(&counts)) {
            *below = *twice as f64 / (2 * count.max(&1) * m) as f64;
        }
        let squares = below.iter().zip(&counts).map(|(it, n)| (it - above).powi(2) * *n as f64);
        Against { above, squares: squares.sum(), below }
    }
}

/// The draws of a product in bins of one source.
#[derive(Debug)]
pub(super) struct Bins {
    /// How many draws of each bin lie in each cell.
    cells: Vec<[f64; CELLS]>,
    /// How many draws each bin has.
    sizes: Vec<f64>,
    draws: f64,
}

/// The levels of the source where it has few, else 20 bins of equal numbers of draws.
#[expect(clippy::cast_precision_loss, reason = "counts of draws")]
pub(super) fn bins(sorted: &Sorted, scores: &Scores) -> Bins {
    let n = sorted.order.len();
    let mut cell_of = vec![0; n];
    for (at, &d) in scores.order.iter().enumerate() {
        cell_of[d] = cell(at, n);
    }
    let mut cells = vec![[0.0; CELLS]; sorted.levels.as_ref().map_or(BINS, Vec::len)];
    let mut put = |bin: usize, d: usize| cells[bin][cell_of[d]] += 1.0;
    match &sorted.levels {
        Some(levels) => {
            for (bin, range) in levels.iter().enumerate() {
                sorted.order[range.clone()].iter().for_each(|d| put(bin, *d));
            }
        }
        None => sorted.order.iter().enumerate().for_each(|(at, d)| put(at * BINS / n, *d)),
    }
    let sizes = cells.iter().map(|it| it.iter().sum()).collect();
    Bins { cells, sizes, draws: n as f64 }
}

impl Bins {
    /// The expected fall of the doubt about the order against a rival.
    ///
    /// The probability is taken in each bin, and the doubt left averaged over bins. Few draws in a bin make the
    /// probabilities spread more than learning would, so their spread is brought back to what an analysis of variance
    /// leaves of it (within-bin mean square times the degrees of freedom between bins). Never below 0, since the
    /// doubt is concave in the probability.
    #[expect(clippy::cast_precision_loss, reason = "counts of bins")]
    pub(super) fn settled(&self, rival: &Against) -> f64 {
        let mut leads = [0.0; BINS];
        let mut between = 0.0;
        for ((lead, cells), size) in leads.iter_mut().zip(&self.cells).zip(&self.sizes) {
            let sum: f64 = cells.iter().zip(&rival.below).map(|(n, below)| n * below).sum();
            *lead = sum / size - rival.above;
            between += size * *lead * *lead;
        }
        let free = self.cells.len() as f64 - 1.0;
        let within = (rival.squares - between).max(0.0);
        let noise = free * within / (self.draws - free - 1.0);
        if between <= noise {
            return 0.0;
        }
        let shrink = (1.0 - noise / between).sqrt();
        let left: f64 = leads
            .iter()
            .zip(&self.sizes)
            .map(|(lead, size)| size * doubt::of(rival.above + shrink * lead))
            .sum();
        (doubt::of(rival.above) - left / self.draws).max(0.0)
    }
}
