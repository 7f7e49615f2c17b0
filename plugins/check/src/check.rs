//! The checks, each with its id, the rule it stands for and the checks it rests on.

use std::fmt;
use std::str::FromStr;

/// What a check is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Group {
    /// The file, its table and its manifest.
    Load,
    /// Scores and remarks.
    Numeric,
    /// Whether equal questions have equal answers.
    Determinism,
    /// Parameters, stopping, and what is left behind.
    Manners,
}

impl Group {
    /// The group as a word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Group::Load => "load",
            Group::Numeric => "numeric",
            Group::Determinism => "determinism",
            Group::Manners => "manners",
        }
    }
}

/// A text that is the id of no check.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("is no check")]
pub struct UnknownCheck;

macro_rules! checks {
    ($($group:ident { $($(#[doc = $doc:literal])+ $name:ident = $id:literal needs [$($need:ident),*],)+ })+) => {
        /// A rule that a plugin keeps. The order is that of running: a check comes after those it needs.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Check { $($($(#[doc = $doc])+ $name,)+)+ }

        impl Check {
            /// All checks, in the order in which they run.
            pub const ALL: &'static [Check] = &[$($(Check::$name,)+)+];

            /// The name by which one check is asked for.
            #[must_use]
            pub fn id(self) -> &'static str {
                match self { $($(Check::$name => $id,)+)+ }
            }

            /// What is required, as a sentence.
            #[must_use]
            pub fn rule(self) -> &'static str {
                match self { $($(Check::$name => concat!($($doc),+).trim_ascii(),)+)+ }
            }

            /// What it is about.
            #[must_use]
            pub fn group(self) -> Group {
                match self { $($(Check::$name => Group::$group,)+)+ }
            }

            /// The checks without which this one says nothing new.
            #[must_use]
            pub fn needs(self) -> &'static [Check] {
                match self { $($(Check::$name => &[$(Check::$need),*],)+)+ }
            }
        }
    };
}

checks! {
    Load {
        /// The library exports bw_plugin_v1.
        EntrySymbol = "entry-symbol" needs [],
        /// The library exports nothing else.
        OtherSymbols = "other-symbols" needs [],
        /// The library loads in a worker, inside the sandbox.
        Loads = "loads" needs [EntrySymbol],
        /// The library loads in under 200 ms.
        LoadTime = "load-time" needs [Loads],
        /// bw_plugin_v1(0) gives a table of interface 1 with its size and functions.
        Table = "table" needs [Loads],
        /// The manifest is JSON as manifest.schema.json describes it and keeps its rules.
        Manifest = "manifest" needs [Table],
        /// Ids in the manifest are well-formed and come once.
        Ids = "ids" needs [Manifest],
        /// Each input is a finding or a quantity of the app, or a finding of the plugin's own, in its kind and unit.
        KnownInputs = "known-inputs" needs [Ids],
        /// bw_plugin_v1 gives null past the last plugin.
        PastTheEnd = "past-the-end" needs [Manifest],
        /// The manifest is the same at each load.
        SameManifest = "same-manifest" needs [Ids],
    }
    Numeric {
        /// The default parameters make an instance.
        DefaultParameters = "default-parameters" needs [Ids],
        /// A batch of one row is scored.
        OneRow = "one-row" needs [DefaultParameters],
        /// A batch without rows is taken.
        ZeroRows = "zero-rows" needs [OneRow],
        /// A batch of 1,000 rows is scored.
        ThousandRows = "thousand-rows" needs [OneRow],
        /// Each measure lies in the declared range, or is NaN or negative infinity.
        ScoreRange = "score-range" needs [ThousandRows],
        /// Each criterion is scored where all inputs are given.
        CriteriaScored = "criteria-scored" needs [ThousandRows],
        /// Each remark has a code that the manifest declares.
        RemarkCodes = "remark-codes" needs [ThousandRows],
        /// Each remark comes with as many numbers as the manifest declares.
        RemarkNumbers = "remark-numbers" needs [RemarkCodes],
        /// Each remark is about a row of the batch.
        RemarkRows = "remark-rows" needs [ThousandRows],
        /// Remarks come in the order of the rows.
        RemarkOrder = "remark-order" needs [RemarkRows],
        /// A call of 1,000 rows makes fewer than 10,000 remarks.
        RemarkCount = "remark-count" needs [ThousandRows],
        /// Rows with all inputs missing are taken.
        MissingValues = "missing-values" needs [ScoreRange, RemarkCodes, RemarkNumbers, RemarkRows],
        /// Infinite inputs give scores in the range or none.
        InfiniteValues = "infinite-values" needs [ScoreRange, RemarkCodes, RemarkNumbers, RemarkRows],
        /// Denormal inputs give scores in the range or none.
        DenormalValues = "denormal-values" needs [ScoreRange, RemarkCodes, RemarkNumbers, RemarkRows],
        /// Huge inputs give scores in the range or none.
        HugeValues = "huge-values" needs [ScoreRange, RemarkCodes, RemarkNumbers, RemarkRows],
        /// Inputs below 0, as an uncertain number near 0 can be drawn, give scores in the range or none.
        NegativeValues = "negative-values" needs [ScoreRange, RemarkCodes, RemarkNumbers, RemarkRows],
    }
    Determinism {
        /// The same batch gives the same bits, again and in another process.
        Repeatable = "repeatable" needs [ThousandRows],
        /// Rows in another order give their scores in that order.
        RowOrder = "row-order" needs [RemarkRows, Repeatable],
        /// A batch in two parts gives the scores of the whole.
        SplitBatch = "split-batch" needs [RemarkRows, Repeatable],
        /// A row of missing inputs leaves the scores of the other rows alone.
        MissingRow = "missing-row" needs [RemarkRows, Repeatable],
        /// Two instances alive at once give the scores that each gives alone.
        InstancesApart = "instances-apart" needs [Repeatable],
    }
    Manners {
        /// All parameters at their least give scores in the range.
        LeastParameters = "least-parameters" needs [ScoreRange, RemarkCodes, RemarkNumbers, RemarkRows],
        /// All parameters at their greatest give scores in the range.
        GreatestParameters = "greatest-parameters" needs [ScoreRange, RemarkCodes, RemarkNumbers, RemarkRows],
        /// Parameters out of range are taken or refused with BW_E_INPUT.
        ForeignParameters = "foreign-parameters" needs [DefaultParameters],
        /// A wrong number of parameters is refused with BW_E_INPUT.
        ParameterCount = "parameter-count" needs [DefaultParameters],
        /// An unknown extension is null.
        UnknownExtension = "unknown-extension" needs [Manifest],
        /// A call ends within 2 s after should_stop says so.
        Stops = "stops" needs [ThousandRows],
        /// No thread is left behind.
        Threads = "threads" needs [ThousandRows],
        /// Memory is stable over 1,000 rounds of create, evaluate and destroy.
        Memory = "memory" needs [ThousandRows],
        /// Nothing is printed.
        Quiet = "quiet" needs [OneRow],
        /// Log texts are UTF-8 and short.
        LogText = "log-text" needs [ThousandRows],
    }
}

impl fmt::Display for Check {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.id())
    }
}

impl FromStr for Check {
    type Err = UnknownCheck;

    fn from_str(id: &str) -> Result<Self, UnknownCheck> {
        Check::ALL.iter().find(|it| it.id() == id).copied().ok_or(UnknownCheck)
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::Check;

    #[test]
    fn ids_are_unique_words_in_kebab_case() {
        let ids: BTreeSet<&str> = Check::ALL.iter().map(|it| it.id()).collect();
        assert_eq!(ids.len(), Check::ALL.len());
        for &it in Check::ALL {
            let plain = |c: char| c.is_ascii_lowercase() || c == '-';
            assert!(it.id().chars().all(plain), "{it}");
            assert_eq!(it.id().parse(), Ok(it));
        }
        assert!("".parse::<Check>().is_err());
    }

    #[test]
    fn a_check_comes_after_those_it_needs() {
        for &it in Check::ALL {
            assert!(it.needs().iter().all(|need| *need < it), "{it}");
            let rule = it.rule();
            assert!(rule.ends_with('.') && !rule.starts_with(' '), "{it}: {rule:?}");
        }
    }
}
