//! What was killed and what was left, by kind of work.

use std::collections::BTreeMap;

use crate::power::Bad;

/// How a round of whole work ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum End {
    /// It was done, and said so, before it was killed.
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

    /// A kill after which something is not as it should be.
    pub(crate) fn bad(&mut self, kind: &'static str, why: Bad) {
        let it = self.kinds.entry(kind).or_default();
        let why = match why {
            Bad::Lost(writes, why) => {
                it.lost += writes;
                it.losing += 1;
                why
            }
            Bad::Half(why) => {
                it.half += 1;
                why
            }
        };
        self.faults.push(format!("{kind}: {why}"));
    }

    /// Takes the rounds of another in.
    pub(crate) fn add(&mut self, other: Tally) {
        for (kind, it) in other.kinds {
            let own = self.kinds.entry(kind).or_default();
            own.by_itself += it.by_itself;
            own.before += it.before;
            own.after += it.after;
            own.acknowledged += it.acknowledged;
            own.lost += it.lost;
            own.losing += it.losing;
            own.half += it.half;
        }
        self.faults.extend(other.faults);
    }

    /// Processes that were killed while they were alive.
    pub(crate) fn kills(&self) -> u64 {
        self.kinds.values().map(Counts::kills).sum()
    }

    /// All rounds, those that came too late among them.
    pub(crate) fn rounds(&self) -> u64 {
        self.kills() + self.kinds.values().map(|it| it.by_itself).sum::<u64>()
    }

    /// Writes lost, and kills that left half of something.
    pub(crate) fn amiss(&self) -> (u64, u64) {
        let of = |count: fn(&Counts) -> u64| self.kinds.values().map(count).sum();
        (of(|it| it.lost), of(|it| it.half))
    }

    pub(crate) fn is_clean(&self) -> bool {
        self.faults.is_empty()
    }

    /// Prints all by kind; `what` are kills or cuts.
    pub(crate) fn print(&self, heading: &str, what: &str) {
        let columns = [what, "as before", "as after", "done first", "acknowledged", "lost", "half"];
        println!("{heading}");
        row("", columns);
        for (kind, it) in &self.kinds {
            let all = it.kills() + if what == "kills" { 0 } else { it.by_itself };
            row(kind, [all, it.before, it.after, it.by_itself, it.acknowledged, it.lost, it.half]);
        }
        println!("{}", self.sum(what));
        for it in self.faults.iter().take(20) {
            println!("  {it}");
        }
    }

    /// All in one line.
    pub(crate) fn sum(&self, what: &str) -> String {
        let (lost, half) = self.amiss();
        let bad: u64 = self.kinds.values().map(|it| it.losing + it.half).sum();
        let acknowledged: u64 = self.kinds.values().map(|it| it.acknowledged + it.lost).sum();
        let all = if what == "kills" { self.kills() } else { self.rounds() };
        format!(
            "{all} {what}, {acknowledged} acknowledged writes; {lost} writes lost, {half} half; {bad} {what} found amiss"
        )
    }
}

fn row<T: std::fmt::Display>(name: &str, cells: [T; 7]) {
    let [all, before, after, first, acknowledged, lost, half] = cells;
    println!(
        "{name:<16}{all:>7}{before:>11}{after:>10}{first:>12}{acknowledged:>14}{lost:>7}{half:>7}"
    );
}
