//! Numbers as people read them in a table.

use crate::dto::{IntervalDto, SubsystemDto};

/// Money in whole units, or a count, thousands apart: `1,250`.
pub(crate) fn money(amount: f64) -> String {
    let digits = format!("{:.0}", amount.abs());
    let mut text = if amount.round() < 0.0 { String::from("-") } else { String::new() };
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// A share in whole per cent, without the sign; 100 only when nothing is left.
pub(super) fn percent(share: f64) -> String {
    let exact = share * 100.0;
    // The sum of many shares may miss the whole by a few binary digits.
    let whole = if exact > 100.0 - 1e-9 { 100.0 } else { exact.round().min(99.0) };
    format!("{whole:.0}")
}

/// An amount as a shop writes it, with cents only where there are some.
pub(super) fn asked(amount: f64) -> String {
    let text = format!("{amount:.2}");
    text.strip_suffix(".00").map_or_else(|| text.clone(), str::to_owned)
}

/// A score that is known or open between two ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Score {
    pub(super) value: Option<f64>,
    pub(super) low: f64,
    pub(super) high: f64,
}

impl From<&IntervalDto> for Score {
    fn from(it: &IntervalDto) -> Self {
        Score { value: it.value, low: it.low, high: it.high }
    }
}

impl From<&SubsystemDto> for Score {
    fn from(it: &SubsystemDto) -> Self {
        Score { value: it.value, low: it.low, high: it.high }
    }
}

impl Score {
    /// `61` when known, `52–70` when open, `≈61` when open by so little that both ends round to the same number.
    pub(super) fn text(self) -> String {
        let (low, high) = (format!("{:.0}", self.low), format!("{:.0}", self.high));
        match self.value {
            Some(value) => format!("{value:.0}"),
            None if low == high => format!("≈{low}"),
            None => format!("{low}–{high}"),
        }
    }
}

/// `1–3`, or one number when both are the same.
pub(super) fn ranks(best: u32, worst: u32) -> String {
    if best == worst { best.to_string() } else { format!("{best}–{worst}") }
}

/// A quantity with four significant digits: enough to compare, no more than a bench knows.
pub(crate) fn measure(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    let magnitude = value.abs().log10().floor();
    if !(-4.0..7.0).contains(&magnitude) {
        return format!("{value:.3e}");
    }
    // Digits after the point: at least none, at most 7, since the magnitude is within -4 and 6.
    let decimals = (0..=7).find(|it| f64::from(*it) >= 3.0 - magnitude).unwrap_or(0);
    let text = format!("{value:.*}", usize::from(u8::try_from(decimals).unwrap_or(0)));
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn money_has_its_thousands_apart() {
        for (amount, text) in [
            (0.0, "0"),
            (-0.4, "0"),
            (199.5, "200"),
            (999.4, "999"),
            (1_250.0, "1,250"),
            (1_000_000.0, "1,000,000"),
            (-1_250.0, "-1,250"),
        ] {
            assert_eq!(money(amount), text);
        }
    }

    #[test]
    fn a_share_is_whole_only_when_nothing_is_left() {
        for (share, text) in
            [(0.0, "0"), (0.554, "55"), (0.985, "99"), (0.9999, "99"), (1.0 - 1e-15, "100")]
        {
            assert_eq!(percent(share), text);
        }
    }

    #[test]
    fn cents_are_written_where_there_are_some() {
        assert_eq!(asked(119.0), "119");
        assert_eq!(asked(119.5), "119.50");
        assert_eq!(asked(119.99), "119.99");
    }

    #[test]
    fn an_open_score_never_reads_like_a_known_one() {
        let open = Score { value: None, low: 60.6, high: 61.4 };
        assert_eq!(open.text(), "≈61");
        assert_eq!(Score { value: Some(61.0), low: 61.0, high: 61.0 }.text(), "61");
        assert_eq!(Score { value: None, low: 0.0, high: 100.0 }.text(), "0–100");
    }

    #[test]
    fn a_rank_that_is_sure_is_one_number() {
        assert_eq!(ranks(2, 2), "2");
        assert_eq!(ranks(10, 12), "10–12");
    }

    #[test]
    fn measures_keep_four_digits_at_most() {
        for (value, text) in [
            (0.0, "0"),
            (1.0, "1"),
            (0.5, "0.5"),
            (12.345, "12.35"),
            (1_234.5, "1234"),
            (123_456.0, "123456"),
            (0.000_123_456, "0.0001235"),
            (-3.2, "-3.2"),
            (1.0e-9, "1.000e-9"),
            (2.5e8, "2.500e8"),
        ] {
            assert_eq!(measure(value), text);
        }
    }
}
