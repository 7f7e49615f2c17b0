//! What was killed and what was left, by kind of work.

use std::collections::BTreeMap;

/// How a round of whole work ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum End {
    /// It was done before it could be killed.
    ByItself,
    /// It was killed, and nothing of it is there.
    Before,
    /// It was killed, and all of it is there.
    After,
}

#[derive(Debug, Default)]
struct Counts {
    by_itself: u64,
    before: u64,
    after: u64,
    /// Writes that were acknowledged.
    acknowledged: u64,
    /// Acknowledged writes that are not there.
    lost: u64,
    /// Kills that lost them.
    losing: u64,
    /// Kills that left something that is neither as before nor as after.
    half: u64,
}

impl Counts {
    fn kills(&self) -> u64 {
        self.before + self.after + self.losing + self.half
    }
}

/// All rounds so far.
#[derive(Debug, Default)]
pub(crate) struct Tally {
    kinds: BTreeMap<&'static str, Counts>,
    /// What went wrong, in words.
    faults: Vec<String>,
}

impl Tally {
    pub(crate) fn ended(&mut self, kind: &'static str, end: End, acknowledged: u64) {
        let it = self.kinds.entry(kind).or_default();
        it.acknowledged += acknowledged;
        match end {
            End::ByItself => it.by_itself += 1,
            End::Before => it.before += 1,
            End::After => it.after += 1,
        }
    }

    /// A kill after which acknowledged writes are missing.
    pub(crate) fn lost(&mut self, kind: &'static str, writes: u64, why: String) {
        let it = self.kinds.entry(kind).or_default();
        it.lost += writes;
        it.losing += 1;
        self.faults.push(format!("{kind}: {why}"));
    }

    /// A kill that left what should not be.
    pub(crate) fn half(&mut self, kind: &'static str, why: String) {
        self.kinds.entry(kind).or_default().half += 1;
        self.faults.push(format!("{kind}: {why}"));
    }

    /// Processes that were killed while they were alive.
    pub(crate) fn kills(&self) -> u64 {
        self.kinds.values().map(Counts::kills).sum()
    }

    /// Writes lost, and kills that left half of something.
    pub(crate) fn bad(&self) -> (u64, u64) {
        let of = |count: fn(&Counts) -> u64| self.kinds.values().map(count).sum();
        (of(|it| it.lost), of(|it| it.half))
    }

    pub(crate) fn is_clean(&self) -> bool {
        self.faults.is_empty()
    }

    pub(crate) fn print(&self, heading: &str) {
        println!(
            "{heading}\n{:<16}{:>7}{:>14}{:>14}{:>17}{:>14}{:>7}{:>7}",
            "", "kills", "as before", "as after", "ended by itself", "acknowledged", "lost", "half"
        );
        for (kind, it) in &self.kinds {
            println!(
                "{kind:<16}{:>7}{:>14}{:>14}{:>17}{:>14}{:>7}{:>7}",
                it.kills(),
                it.before,
                it.after,
                it.by_itself,
                it.acknowledged,
                it.lost,
                it.half
            );
        }
        let (lost, half) = self.bad();
        let acknowledged: u64 = self.kinds.values().map(|it| it.acknowledged).sum();
        println!(
            "{} kills, {acknowledged} acknowledged writes, {lost} lost, {half} half",
            self.kills()
        );
        for it in self.faults.iter().take(20) {
            println!("  {it}");
        }
    }
}
