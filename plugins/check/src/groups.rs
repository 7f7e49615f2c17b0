//! How each check is made.

mod determinism;
mod load;
mod manners;
mod numeric;
mod remarks;

use crate::check::Check;
use crate::inputs::Like;
use crate::report::Verdict;
use crate::trial::{Stop, Trials};

/// What came of a check, or why it ended early.
type Checked = Result<Verdict, Stop>;

/// Rows of a batch where the number does not matter.
const SOME_ROWS: usize = 64;
/// Rows of the longest call of an `independent` plugin.
const MANY_ROWS: usize = host::MAX_ROWS;

/// Makes one check.
pub(crate) fn run(check: Check, trials: &Trials<'_>) -> Checked {
    match check {
        Check::EntrySymbol => Ok(load::entry_symbol(trials)),
        Check::OtherSymbols => Ok(load::other_symbols(trials)),
        Check::Loads => load::loads(trials),
        Check::LoadTime => load::load_time(trials),
        Check::Table => load::table(trials),
        Check::PastTheEnd => load::past_the_end(trials),
        Check::Manifest => load::manifest(trials),
        Check::Ids => load::ids(trials),
        Check::KnownInputs => load::known_inputs(trials),
        Check::SameManifest => load::same_manifest(trials),
        Check::DefaultParameters => manners::default_parameters(trials),
        Check::OneRow => numeric::rows(trials, 1),
        Check::ZeroRows => numeric::rows(trials, 0),
        Check::ThousandRows => numeric::rows(trials, MANY_ROWS),
        Check::ScoreRange => numeric::score_range(trials),
        Check::CriteriaScored => numeric::criteria_scored(trials),
        Check::RemarkCodes => remarks::codes(trials),
        Check::RemarkNumbers => remarks::numbers(trials),
        Check::RemarkRows => remarks::rows(trials),
        Check::RemarkOrder => remarks::order(trials),
        Check::RemarkCount => remarks::count(trials),
        Check::MissingValues => numeric::judged(trials, Like::Missing),
        Check::InfiniteValues => numeric::judged(trials, Like::Infinite),
        Check::DenormalValues => numeric::judged(trials, Like::Denormal),
        Check::HugeValues => numeric::judged(trials, Like::Huge),
        Check::NegativeValues => numeric::negative(trials),
        Check::Repeatable => determinism::repeatable(trials),
        Check::RowOrder => determinism::row_order(trials),
        Check::SplitBatch => determinism::split_batch(trials),
        Check::MissingRow => determinism::missing_row(trials),
        Check::InstancesApart => determinism::instances_apart(trials),
        Check::LeastParameters => manners::parameters_at(trials, |it| it.min),
        Check::GreatestParameters => manners::parameters_at(trials, |it| it.max),
        Check::ForeignParameters => manners::foreign_parameters(trials),
        Check::ParameterCount => manners::parameter_count(trials),
        Check::UnknownExtension => load::unknown_extension(trials),
        Check::Stops => manners::stops(trials),
        Check::Threads => manners::threads(trials),
        Check::Memory => manners::memory(trials),
        Check::Quiet => manners::quiet(trials),
        Check::LogText => manners::log_text(trials),
    }
}
