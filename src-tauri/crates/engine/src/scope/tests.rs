//! Who takes part in a question, and what is said of a band that is too full.

use super::*;

/// An invented shelf: one product for each whole price from 100 on.
fn shelf(n: u32) -> Vec<Shelved> {
    (0..n)
        .map(|it| Shelved {
            key: ProductKey::parse(&format!("quill/fern-{it:06}")).unwrap(),
            label: format!("Quill Fern {it}"),
            kind: ProductKind::StandMount,
            powered: false,
            real_pair: Some(100.0 + f64::from(it) / 100.0),
        })
        .collect()
}

fn scope(shelf: &[Shelved], band: &str) -> Scope {
    Scope::of(shelf, band.parse().unwrap(), None)
}

#[test]
fn all_inside_take_part_and_of_too_many_around_some() {
    let scope = scope(&shelf(20_000), "200..203");
    assert_eq!((scope.inside.len(), scope.around.len()), (300, AROUND));
    let taken = scope.around[0].clone();
    assert!(!scope.leaves_out(&taken));
    let many: Vec<Shelved> = shelf(20_000);
    let near = many.iter().filter(|it| scope.leaves_out(&it.key) && it.real_pair > Some(203.0));
    assert!(near.count() > 5_000);
}

#[test]
fn few_around_all_take_part() {
    let scope = scope(&shelf(300), "100..102");
    assert_eq!((scope.inside.len(), scope.around.len()), (200, 100));
    assert_eq!(scope.beyond().unwrap().some_around, None);
}

/// Another product on the shelf moves one of those drawn by lot at most.
#[test]
fn another_product_displaces_one_at_most() {
    let mut many = shelf(20_000);
    let before = scope(&many, "200..203");
    for it in 0..50 {
        many.push(Shelved {
            key: ProductKey::parse(&format!("heron/{it}")).unwrap(),
            label: format!("Heron {it}"),
            kind: ProductKind::StandMount,
            powered: false,
            real_pair: Some(210.0),
        });
        let after = scope(&many, "200..203");
        let gone = before.around.iter().filter(|it| !after.around.contains(it)).count();
        assert!(gone <= it + 1, "{gone} after {}", it + 1);
        assert_eq!(before.inside, after.inside);
    }
}

/// The lots are even over prices: the mean of the prices drawn is that of all within four of its standard errors.
#[test]
fn the_lot_asks_for_no_price() {
    let many = shelf(20_000);
    let scope = scope(&many, "200..201");
    let price =
        |key: &ProductKey| many.iter().find(|it| it.key == *key).unwrap().real_pair.unwrap();
    let drawn: Vec<f64> = scope.around.iter().map(price).collect();
    let mean = drawn.iter().sum::<f64>() / drawn.len() as f64;
    // Around lie prices from 133.3 to 200 and from 201 to 300, evenly.
    let (low, high) = (200.0 / 1.5, 300.0_f64);
    let standard_error = (high - low) / 12_f64.sqrt() / (drawn.len() as f64).sqrt();
    assert!((mean - f64::midpoint(low, high)).abs() < 4.0 * standard_error, "{mean}");
}

#[test]
fn a_band_that_is_too_full_is_answered_with_a_narrower_one() {
    let many = shelf(20_000);
    let prices: Vec<f64> = many.iter().filter_map(|it| it.real_pair).collect();
    let band = narrower(&prices).unwrap();
    let n = prices.iter().filter(|it| band.contains(**it)).count();
    assert!((SUGGESTED / 2..=MOST).contains(&n), "{band}: {n}");
    // All at one price: no band of whole units is narrow enough.
    assert_eq!(narrower(&[150.5; 20_000]), None);
    assert_eq!(narrower(&[]), None);
}

#[test]
fn products_without_a_price_are_about_an_open_band_alone() {
    let mut some = shelf(10);
    some[3].real_pair = None;
    let (open, closed) = (scope(&some, ".."), scope(&some, "50..500"));
    assert_eq!((open.inside.len(), open.beyond().unwrap().no_price), (10, 1));
    assert_eq!((closed.inside.len(), closed.beyond().unwrap().no_price), (9, 1));
}
