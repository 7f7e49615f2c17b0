//! The only place that asks the system for the time.

use domain::Date;
use jiff::{Timestamp, tz::TimeZone};

/// Today, UTC.
#[must_use]
pub fn today() -> Date {
    Timestamp::now().to_zoned(TimeZone::UTC).date()
}

/// Now, UTC, to the second, ISO 8601.
pub(crate) fn now() -> String {
    let now = Timestamp::now();
    Timestamp::from_second(now.as_second()).unwrap_or(now).to_string()
}
