//! Prices as shops asked them.

use domain::{
    money::{Currency, Money},
    price::{Basis, Price, PriceKind, Seller},
};

use crate::{Design, Dice, unreachable};

/// The odds that one price of a product is noted for a pair and was asked for each, or the other way round.
const SLIP: f64 = 0.02;

/// The prices of a product, one in twelve without any. The first is the list price of its year.
pub(crate) fn of(design: &Design, dice: &mut Dice) -> Vec<Price> {
    if dice.chance(1.0 / 12.0) {
        return Vec::new();
    }
    let size = if design.floor_standing { 1.9 } else { 1.0 };
    let middle = 90.0 * (1.9 * design.quality).exp() * size;
    let pair = dice.about(middle, 0.28).clamp(45.0, 3000.0);
    let is_each = dice.chance(0.35);
    let mut prices = vec![price(dice, pair, is_each, Form::List, &format!("{}-03", design.year))];
    // Half of the products have been seen within the last half year.
    let last = if dice.chance(0.5) { 2026 } else { 2023 + i16::from(dice.chance(0.5)) };
    for seen in 0..dice.whole(1, 5) {
        let year =
            if seen == 0 { last } else { i16::try_from(dice.whole(2019, 2025)).unwrap_or(2024) };
        let year = year.max(design.year);
        let month = if year == 2026 { dice.whole(7, 10) } else { dice.whole(1, 12) };
        let date = format!("{year}-{month:02}-{:02}", 1 + (seen * 5 + dice.whole(0, 4)) % 28);
        let form = if dice.chance(0.15) { Form::Sale } else { Form::Street };
        let drift = dice.about(1.0 + 0.02 * f64::from(year - design.year), 0.04);
        prices.push(price(dice, pair * drift, is_each, form, &date));
    }
    if prices.len() > 2
        && dice.chance(SLIP)
        && let Some(it) = prices.last_mut()
    {
        it.basis = if is_each { Basis::Pair } else { Basis::Each };
    }
    prices.sort_by_key(|it| it.date);
    prices.dedup_by_key(|it| (it.date, it.kind, it.seller));
    prices
}

#[derive(Clone, Copy)]
enum Form {
    List,
    Street,
    Sale,
}

fn price(dice: &mut Dice, pair: f64, is_each: bool, form: Form, date: &str) -> Price {
    let share = match form {
        Form::List => 1.0,
        Form::Street => dice.between(0.88, 1.0),
        Form::Sale => dice.between(0.6, 0.8),
    };
    let amount = if is_each { pair / 2.0 } else { pair } * share;
    // Shops end prices in 9.
    let text = format!(
        "{:.0}.{}",
        (amount / 10.0).round().max(2.0) * 10.0 - 1.0,
        if dice.chance(0.5) { "99" } else { "00" }
    );
    let (kind, seller) = match form {
        Form::List => (PriceKind::List, Seller::Maker),
        Form::Street => (
            PriceKind::Street,
            if dice.chance(0.85) { Seller::Authorised } else { Seller::Marketplace },
        ),
        Form::Sale => (PriceKind::Sale, Seller::Authorised),
    };
    Price {
        money: Money::parse(&text, Currency::Usd).unwrap_or_else(|why| unreachable(&why)),
        basis: if is_each { Basis::Each } else { Basis::Pair },
        date: date.parse().unwrap_or_else(|why| unreachable(&why)),
        kind,
        seller,
        shop: String::new(),
        note: if matches!(form, Form::Sale) { "end of season".into() } else { String::new() },
    }
}
