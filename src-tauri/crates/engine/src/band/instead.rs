//! Which statements so few products do not allow, and what is shown in their place.

use ::standing::{
    prevalence::Quantity,
    too_few::{Method, Shown},
};

use crate::dto::InsteadDto;

/// For `n` ranked products, in the order in which the page has them.
pub(super) fn instead(n: usize) -> Vec<InsteadDto> {
    Method::ALL
        .into_iter()
        .filter_map(|method| match method.shown(n) {
            Shown::Yes => None,
            Shown::Instead { needs, what } => Some(InsteadDto {
                of: name(method).into(),
                needs: u32::try_from(needs).unwrap_or(u32::MAX),
                have: u32::try_from(n).unwrap_or(u32::MAX),
                shown: what,
            }),
        })
        .collect()
}

/// What a statement is called on the page.
fn name(method: Method) -> &'static str {
    match method {
        Method::RankList => "ranks",
        Method::Superlative => "the best of its price",
        Method::ValueLevel => "value points",
        Method::ValueLine => "value points against a line over prices",
        Method::Unbeaten => "unbeaten for the money",
        Method::Dominance => "one product beats another",
        Method::MarketShare(Quantity::Most) => "most of the market",
        Method::MarketShare(Quantity::Few) => "few of the market",
        Method::MarketShare(Quantity::NearlyAll) => "nearly all of the market",
        Method::MarketShare(Quantity::AboutHalf) => "about half of the market",
        Method::MedianInterval90 => "limits of a median, 90 %",
        Method::MedianInterval95 => "limits of a median, 95 %",
        Method::Quartiles => "quartiles",
        Method::PercentileRank => "a percentile rank",
        Method::Shift => "a shift between two kinds",
        Method::Tau => "whether it rises with the price",
        Method::TauInterval => "limits of how it rises with the price",
        Method::Bootstrap => "limits by drawing the same values again",
        Method::Acceptability => "how often at which rank",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_said_has_its_number_and_its_stead() {
        let of = |n| instead(n).into_iter().map(|it| it.of).collect::<Vec<_>>();
        assert!(of(3).contains(&"ranks".to_owned()) && !of(5).contains(&"ranks".to_owned()));
        assert!(
            of(7).contains(&"quartiles".to_owned()) && !of(8).contains(&"quartiles".to_owned())
        );
        assert!(instead(20).is_empty());
        assert!(instead(4).iter().all(|it| it.needs > it.have && !it.shown.is_empty()));
    }
}
