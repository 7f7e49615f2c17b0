//! Which rows to run next, and whom to blame. Pure: it knows nothing of processes or clocks.

use std::ops::Range;

/// This many guilty rows make the plugin faulty as a whole.
pub(crate) const TOO_MANY: usize = 3;

/// Runs a batch in pieces. A piece that fails is split until single rows are to blame.
#[derive(Debug)]
pub(crate) struct Bisect {
    /// Pieces still to run, the next one last.
    pending: Vec<Piece>,
    guilty: Vec<usize>,
    n_rows: usize,
    /// Whether the batch may be run in pieces at all.
    may_split: bool,
}

/// Some rows to run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Piece {
    pub(crate) rows: Range<usize>,
    /// Whether these very rows failed before through no fault of the plugin.
    again: bool,
}

/// What a failure means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Verdict {
    /// Nobody is to blame yet; go on.
    GoOn,
    /// This row is to blame; go on.
    Row(usize),
    /// The plugin is to blame; stop.
    Plugin,
}

impl Bisect {
    /// Plans a batch, in pieces of at most `longest` rows when it may be split.
    pub(crate) fn new(n_rows: usize, longest: usize, may_split: bool) -> Self {
        let step = if may_split { longest.max(1) } else { n_rows.max(1) };
        let starts = (0..n_rows.max(1)).step_by(step);
        // An empty batch is one piece without rows: parameters are still tried.
        let piece = |start: usize| Piece { rows: start..(start + step).min(n_rows), again: false };
        let mut pending: Vec<Piece> = starts.map(piece).collect();
        pending.reverse();
        Bisect { pending, guilty: Vec::new(), n_rows, may_split }
    }

    /// The rows to run next.
    pub(crate) fn next(&mut self) -> Option<Piece> {
        self.pending.pop()
    }

    /// The rows that would be next.
    pub(crate) fn peek(&self) -> Option<&Piece> {
        self.pending.last()
    }

    /// A piece failed. `ambiguous` means that the plugin may be innocent.
    pub(crate) fn failed(&mut self, piece: &Piece, ambiguous: bool) -> Verdict {
        let rows = &piece.rows;
        let is_whole = !self.may_split || rows.len() <= 1;
        if is_whole && ambiguous && !piece.again {
            self.pending.push(Piece { again: true, ..piece.clone() });
            return Verdict::GoOn;
        }
        if !self.may_split || rows.is_empty() {
            return Verdict::Plugin;
        }
        if rows.len() == 1 {
            return self.blame(rows.start);
        }
        let middle = rows.start + rows.len() / 2;
        self.pending.push(Piece { rows: middle..rows.end, again: false });
        self.pending.push(Piece { rows: rows.start..middle, again: false });
        Verdict::GoOn
    }

    /// A row is to blame by its own answer.
    pub(crate) fn blame(&mut self, row: usize) -> Verdict {
        self.guilty.push(row);
        let all = self.guilty.len() == self.n_rows;
        if all || TOO_MANY <= self.guilty.len() { Verdict::Plugin } else { Verdict::Row(row) }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use proptest::prelude::*;

    use super::{Bisect, TOO_MANY, Verdict};

    /// Runs a batch whose guilty rows are known: rows that were scored, rows blamed, runs, whether the plugin was blamed.
    fn play(
        n_rows: usize,
        longest: usize,
        guilty: &BTreeSet<usize>,
    ) -> (Vec<usize>, Vec<usize>, usize, bool) {
        let mut bisect = Bisect::new(n_rows, longest, true);
        let (mut scored, mut blamed, mut runs) = (Vec::new(), Vec::new(), 0);
        while let Some(piece) = bisect.next() {
            runs += 1;
            if guilty.range(piece.rows.clone()).next().is_none() {
                scored.extend(piece.rows);
                continue;
            }
            match bisect.failed(&piece, false) {
                Verdict::GoOn => {}
                Verdict::Row(row) => blamed.push(row),
                Verdict::Plugin => return (scored, blamed, runs, true),
            }
        }
        (scored, blamed, runs, false)
    }

    proptest! {
        #[test]
        fn exactly_the_guilty_are_blamed(
            n_rows in 4_usize..5000,
            picks in prop::collection::vec(any::<prop::sample::Index>(), 0..TOO_MANY),
        ) {
            let guilty: BTreeSet<usize> = picks.iter().map(|it| it.index(n_rows)).collect();
            let (scored, blamed, runs, plugin) = play(n_rows, 1000, &guilty);
            prop_assert!(!plugin);
            prop_assert_eq!(blamed, guilty.iter().copied().collect::<Vec<_>>());
            let innocent: Vec<usize> = (0..n_rows).filter(|it| !guilty.contains(it)).collect();
            prop_assert_eq!(scored, innocent);
            // Two halves on each of ten levels for each guilty row, beside the pieces of the plan.
            prop_assert!(runs <= n_rows.div_ceil(1000) + guilty.len() * 2 * 10);
        }

        #[test]
        fn three_guilty_rows_condemn_the_plugin(
            n_rows in 10_usize..5000,
            picks in prop::collection::vec(any::<prop::sample::Index>(), 3..10),
        ) {
            let guilty: BTreeSet<usize> = picks.iter().map(|it| it.index(n_rows)).collect();
            prop_assert_eq!(play(n_rows, 1000, &guilty).3, TOO_MANY <= guilty.len());
        }
    }

    #[test]
    fn batch_of_which_all_rows_are_guilty_condemns_the_plugin() {
        for n_rows in 1..=2 {
            let (scored, _, _, plugin) = play(n_rows, 1000, &(0..n_rows).collect());
            assert!(plugin && scored.is_empty(), "{n_rows}");
        }
    }

    #[test]
    fn whole_batches_are_not_split() {
        let mut bisect = Bisect::new(2500, 1000, false);
        let piece = bisect.next().unwrap();
        assert_eq!(piece.rows, 0..2500);
        assert_eq!(bisect.failed(&piece, false), Verdict::Plugin);
    }

    #[test]
    fn row_killed_by_somebody_else_is_tried_once_more() {
        let mut bisect = Bisect::new(1, 1000, true);
        let first = bisect.next().unwrap();
        assert_eq!(bisect.failed(&first, true), Verdict::GoOn);
        let second = bisect.next().unwrap();
        assert_eq!(second.rows, 0..1);
        assert_eq!(bisect.failed(&second, true), Verdict::Plugin);
        assert!(bisect.next().is_none());
    }

    #[test]
    fn empty_batch_is_run_once() {
        let mut bisect = Bisect::new(0, 1000, true);
        let piece = bisect.next().unwrap();
        assert_eq!(piece.rows, 0..0);
        assert!(bisect.next().is_none());
        assert_eq!(bisect.failed(&piece, false), Verdict::Plugin);
    }
}
