//! When a plugin's worker may start again, and when the plugin is left alone. Pure: it knows neither clock nor process.
//!
//! A plugin that fails is started again at once the first time it is wanted after [`FIRST_DELAY`], and each further
//! failure doubles the delay. Three failed calls within ten minutes, or one crash while it is loaded, put it in
//! quarantine, from which only a person releases it. A call that was saved, in that only some rows were to blame, is no
//! failure: it costs those rows, and a quarantine would cost all others.
//!
//! The search for guilty rows is not slowed. Its starts are bounded by the halving (twice the logarithm of the rows for
//! each of three guilty rows at most) and by a deadline of its own, and somebody waits for the rows that are innocent.

use std::time::Duration;

/// Delay of a start after the first failure.
pub const FIRST_DELAY: Duration = Duration::from_millis(250);
/// Longest delay of a start.
pub const LONGEST_DELAY: Duration = Duration::from_secs(30);
/// After this long without a failure, counted from the first answer, the delay starts over.
pub const GOOD_WORK: Duration = Duration::from_secs(60);
/// This many failures within [`FAULT_WINDOW`] are too many.
pub const TOO_MANY_FAULTS: usize = 3;
/// How long a failure counts.
pub const FAULT_WINDOW: Duration = Duration::from_secs(600);

/// What is remembered of a plugin. Times count from any fixed moment.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct State {
    /// When it failed, oldest first, as far as it still counts.
    faults: Vec<Duration>,
    /// Failures since the delay last started over.
    failures: u32,
    /// No start before this.
    not_before: Duration,
    /// The first answer since the last failure.
    good_since: Option<Duration>,
    /// Whether a kill by somebody else was forgiven since the last answer.
    forgiven: bool,
    quarantined: bool,
}

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Event {
    /// A worker is wanted.
    Wanted,
    /// A call was answered.
    Answered,
    /// It could not be loaded, or a call failed as a whole.
    Failed(Blame),
    /// A person lifted the quarantine.
    Released,
}

/// Whose fault a failure is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Blame {
    /// The plugin's: it crashed or ended while it was loaded.
    Load,
    /// The plugin's.
    Call,
    /// Perhaps the plugin's: somebody else killed its worker, such as the system short of memory.
    Unclear,
    /// This program's or the system's.
    Ours,
}

/// What to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// Go on.
    Go,
    /// Start a worker after this time.
    Wait(Duration),
    /// Try the same once more.
    Retry,
    /// Tell the caller of the failure.
    Tell,
    /// Tell the caller of the failure, and that the plugin is in quarantine from now on.
    Quarantine,
    /// Do nothing with the plugin, since it is in quarantine.
    Refuse,
}

/// What follows from an event.
#[must_use]
pub fn next(mut state: State, event: Event, now: Duration) -> (State, Action) {
    let action = match event {
        Event::Wanted if state.quarantined => Action::Refuse,
        Event::Wanted => match state.not_before.checked_sub(now) {
            Some(delay) if !delay.is_zero() => Action::Wait(delay),
            _ => Action::Go,
        },
        Event::Answered => {
            let since = *state.good_since.get_or_insert(now);
            state.forgiven = false;
            if GOOD_WORK <= now.saturating_sub(since) {
                state.failures = 0;
            }
            Action::Go
        }
        Event::Released => State::released(&mut state),
        Event::Failed(Blame::Unclear) if !state.forgiven => {
            state.forgiven = true;
            Action::Retry
        }
        Event::Failed(blame) => state.failed(blame, now),
    };
    (state, action)
}

/// Whether these failures, in seconds and in order, put a plugin in quarantine; `true` marks a crash while it was loaded.
/// Gives the second from which on it is there.
#[must_use]
pub fn quarantined_since(failures: &[(i64, bool)]) -> Option<i64> {
    let window_s = i64::try_from(FAULT_WINDOW.as_secs()).unwrap_or(i64::MAX);
    failures.iter().enumerate().find_map(|(at, &(second, at_load))| {
        let first = (at + 1).checked_sub(TOO_MANY_FAULTS).map(|it| failures[it].0);
        let too_many = first.is_some_and(|it| second.saturating_sub(it) <= window_s);
        (at_load || too_many).then_some(second)
    })
}

impl State {
    fn released(&mut self) -> Action {
        *self = State::default();
        Action::Go
    }

    fn failed(&mut self, blame: Blame, now: Duration) -> Action {
        let doublings = self.failures.min(16);
        let delay = FIRST_DELAY.saturating_mul(1 << doublings).min(LONGEST_DELAY);
        self.failures = self.failures.saturating_add(1);
        self.not_before = now.saturating_add(delay);
        self.good_since = None;
        if blame == Blame::Ours {
            return Action::Tell;
        }
        self.faults.push(now);
        self.faults.retain(|at| now.saturating_sub(*at) <= FAULT_WINDOW);
        self.quarantined |= blame == Blame::Load || TOO_MANY_FAULTS <= self.faults.len();
        if self.quarantined { Action::Quarantine } else { Action::Tell }
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use proptest::prelude::*;

    use super::{
        Action, Blame, Event, FAULT_WINDOW, FIRST_DELAY, GOOD_WORK, LONGEST_DELAY, State,
        TOO_MANY_FAULTS, next, quarantined_since,
    };

    fn event() -> impl Strategy<Value = Event> {
        prop_oneof![
            3 => Just(Event::Wanted),
            3 => Just(Event::Answered),
            2 => Just(Event::Failed(Blame::Call)),
            1 => Just(Event::Failed(Blame::Load)),
            1 => Just(Event::Failed(Blame::Unclear)),
            1 => Just(Event::Failed(Blame::Ours)),
            1 => Just(Event::Released),
        ]
    }

    /// Events with the time that passes before each.
    fn story() -> impl Strategy<Value = Vec<(Event, u64)>> {
        prop::collection::vec((event(), 0_u64..400_000), 0..60)
    }

    proptest! {
        /// Held against the rule, told over the whole story instead of step by step.
        #[test]
        fn quarantine_is_what_the_rule_says(story in story()) {
            let (mut state, mut now) = (State::default(), Duration::ZERO);
            let (mut faults, mut forgiven, mut inside) = (Vec::new(), false, false);
            for (event, pause_ms) in story {
                now += Duration::from_millis(pause_ms);
                let action;
                (state, action) = next(state, event, now);
                let counts = match event {
                    Event::Failed(Blame::Call | Blame::Load) => true,
                    Event::Failed(Blame::Unclear) => std::mem::replace(&mut forgiven, true),
                    Event::Answered => { forgiven = false; false }
                    Event::Released => { faults.clear(); (inside, forgiven) = (false, false); false }
                    _ => false,
                };
                if counts {
                    faults.push(now);
                    let recent = faults.iter().filter(|at| now - **at <= FAULT_WINDOW).count();
                    inside |= TOO_MANY_FAULTS <= recent || event == Event::Failed(Blame::Load);
                    prop_assert_eq!(action == Action::Quarantine, inside);
                }
                if event == Event::Wanted {
                    prop_assert_eq!(action == Action::Refuse, inside);
                }
            }
        }

        /// Nobody ever waits longer than the longest delay, and waiting once is enough.
        #[test]
        fn waiting_ends(story in story()) {
            let (mut state, mut now) = (State::default(), Duration::ZERO);
            for (event, pause_ms) in story {
                now += Duration::from_millis(pause_ms);
                (state, _) = next(state, event, now);
                if let (_, Action::Wait(delay)) = next(state.clone(), Event::Wanted, now) {
                    prop_assert!(delay <= LONGEST_DELAY);
                    let (_, then) = next(state.clone(), Event::Wanted, now + delay);
                    prop_assert_eq!(then, Action::Go);
                }
            }
        }

        /// What is stored and read by another process leads to the same quarantine as what this one remembers.
        #[test]
        fn memory_and_store_agree(pauses_s in prop::collection::vec((0_u16..900, prop::bool::weighted(0.05)), 0..30)) {
            let (mut state, mut now_s, mut stored) = (State::default(), 0_i64, Vec::new());
            for (pause_s, at_load) in pauses_s {
                now_s += i64::from(pause_s);
                stored.push((now_s, at_load));
                let blame = if at_load { Blame::Load } else { Blame::Call };
                let now = Duration::from_secs(now_s.unsigned_abs());
                (state, _) = next(state, Event::Failed(blame), now);
                let (_, action) = next(state.clone(), Event::Wanted, now + LONGEST_DELAY);
                prop_assert_eq!(action == Action::Refuse, quarantined_since(&stored).is_some());
            }
        }
    }

    #[test]
    fn delay_doubles_up_to_the_longest_and_starts_over_after_good_work() {
        let mut state = State::default();
        let mut now = Duration::ZERO;
        let mut delays_ms = Vec::new();
        for _ in 0..9 {
            (state, _) = next(state, Event::Failed(Blame::Ours), now);
            let (_, Action::Wait(delay)) = next(state.clone(), Event::Wanted, now) else {
                panic!("no delay")
            };
            delays_ms.push(delay.as_millis());
            now += delay;
        }
        assert_eq!(delays_ms, [250, 500, 1000, 2000, 4000, 8000, 16_000, 30_000, 30_000]);
        for pause in [Duration::ZERO, GOOD_WORK] {
            now += pause;
            (state, _) = next(state, Event::Answered, now);
        }
        (state, _) = next(state, Event::Failed(Blame::Ours), now);
        assert_eq!(next(state, Event::Wanted, now).1, Action::Wait(FIRST_DELAY));
    }

    #[test]
    fn kill_by_somebody_else_is_forgiven_once() {
        let unclear = Event::Failed(Blame::Unclear);
        let (state, first) = next(State::default(), unclear, Duration::ZERO);
        let (state, second) = next(state, unclear, Duration::ZERO);
        let (state, _) = next(state, Event::Answered, Duration::ZERO);
        let (_, third) = next(state, unclear, Duration::ZERO);
        assert_eq!([first, second, third], [Action::Retry, Action::Tell, Action::Retry]);
    }
}
