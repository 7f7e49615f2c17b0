//! The only place that asks the system for the time.

use domain::Date;
use jiff::{Timestamp, tz::TimeZone};

/// Today, UTC.
#[must_use]
pub fn today() -> Date {
    Timestamp::now().to_zoned(TimeZone::UTC).date()
}

/// Now, UTC, to the nanosecond with all its digits, so that texts compare like times.
pub(crate) fn now_exactly() -> String {
    format!("{:.9}", Timestamp::now())
}

/// The second of a time as this module writes it.
pub(crate) fn second(text: &str) -> Option<i64> {
    text.parse::<Timestamp>().ok().map(Timestamp::as_second)
}

/// Now, UTC, to the second, ISO 8601.
pub(crate) fn now() -> String {
    let now = Timestamp::now();
    Timestamp::from_second(now.as_second()).unwrap_or(now).to_string()
}
