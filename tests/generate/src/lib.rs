//! Catalogues of any size for tests and benches: invented makers and models, opened, measured and priced as a reviewer
//! would.
//!
//! A product follows from the seed and its number alone, so a larger catalogue begins with the smaller one. Figures hang
//! together as physics wants it: driver parameters follow from mass, compliance and motor, the port from a tuning, prices
//! rise with quality and with the years. A few products in a hundred carry a slip of the kind that cross-checks look for.
//! All makers and models are invented. What is usual is common practice, no source.
#![forbid(unsafe_code)]

mod bench;
mod driver;
mod names;
mod network;
mod prices;
mod sheet;

use std::path::Path;

use catalog::{Catalog, Error, Info, Tally, unwatched};
use domain::{
    Date,
    dossier::Dossier,
    draw::Stream,
    key::ProductKey,
    product::{Product, ProductKind},
};

/// The day on which generated prices end; a question about prices is asked for it.
pub const AS_OF: &str = "2026-11-25";

/// The most products that have names of their own.
pub const MOST: usize = 100_000;

/// Products that go into the file in one action.
const BATCH: usize = 500;

/// What the parts of a product have in common.
#[derive(Debug, Clone, Copy)]
struct Design {
    /// From 0, the poorest, to 1.
    quality: f64,
    ways: u8,
    floor_standing: bool,
    /// Rated for 4 ohm rather than 8.
    low_impedance: bool,
    year: i16,
}

/// The stream of one product for a purpose.
#[derive(Debug)]
struct Dice(Stream);

impl Dice {
    fn of(seed: u64, number: usize, purpose: &str) -> Self {
        Dice(Stream::of(seed, "generate", &number.to_string(), purpose))
    }

    fn chance(&mut self, p: f64) -> bool {
        self.0.unit() < p
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.unit()
    }

    fn whole(&mut self, low: u32, high: u32) -> u32 {
        low + u32::try_from(self.0.below((high - low + 1) as usize)).unwrap_or(0)
    }

    /// One of a list that is not empty.
    fn one<'a, T: ?Sized>(&mut self, list: &[&'a T]) -> &'a T {
        list[self.0.below(list.len())]
    }

    /// One of a list from poor to good: the better the quality, the farther along.
    fn graded<'a>(&mut self, quality: f64, list: &[&'a str]) -> &'a str {
        let place = (quality + 0.25 * self.0.normal()).clamp(0.0, 0.999) * list.len() as f64;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a place in the list"
        )]
        list[(place as usize).min(list.len() - 1)]
    }

    /// About `middle`, off by a share that is normal in the logarithm.
    fn about(&mut self, middle: f64, share: f64) -> f64 {
        middle * (share * self.0.normal()).exp()
    }
}

/// The product of a number, the same for a seed whatever else is made.
///
/// # Panics
/// When `number` is not below [`MOST`].
#[must_use]
pub fn product(seed: u64, number: usize) -> Dossier {
    assert!(number < MOST, "there are names for {MOST} products only");
    let (maker, model) = names::named(number);
    let mut dice = Dice::of(seed, number, "design");
    let ways = if dice.chance(0.22) { 3 } else { 2 };
    let design = Design {
        quality: dice.0.unit(),
        ways,
        floor_standing: dice.chance(if ways == 3 { 0.8 } else { 0.15 }),
        low_impedance: dice.chance(0.35),
        year: 2012 + i16::try_from(dice.whole(0, 14)).unwrap_or(0),
    };
    let product = Product {
        key: ProductKey::from_names(&maker, &model).unwrap_or_else(|why| unreachable(&why)),
        maker,
        model,
        kind: if design.floor_standing {
            ProductKind::FloorStanding
        } else {
            ProductKind::StandMount
        },
        ways,
        powered: dice.chance(0.02),
        year: design.year,
        note: String::new(),
    };
    let prices = prices::of(&design, &mut Dice::of(seed, number, "prices"));
    bench::opened(product, prices, &design, seed, number)
}

/// Makes a catalogue file of the first `count` products; `progress` hears how many are in it.
///
/// # Errors
/// As [`Catalog::create`] and [`Catalog::import`].
pub fn write(
    path: &Path,
    seed: u64,
    count: usize,
    progress: &mut dyn FnMut(usize),
) -> Result<Tally, Error> {
    let info = Info {
        title: format!("{count} invented products"),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    };
    let mut catalogue = Catalog::create(path, &info)?;
    let mut sum = Tally::default();
    for begin in (0..count).step_by(BATCH) {
        let batch: Vec<Dossier> =
            (begin..count.min(begin + BATCH)).map(|number| product(seed, number)).collect();
        let moment = format!("{AS_OF}T12:00:00Z");
        let tally = catalogue.import(&batch, None, &moment, false, &mut unwatched)?;
        sum.products += tally.products;
        sum.new_products += tally.new_products;
        sum.added += tally.added;
        progress(begin + batch.len());
    }
    Ok(sum)
}

/// A day of the calendar; months and days that every year has.
fn day(year: i16, month: u32, day: u32) -> Date {
    format!("{year:04}-{:02}-{:02}", month.clamp(1, 12), day.clamp(1, 28))
        .parse()
        .unwrap_or_else(|why| unreachable(&why))
}

/// For texts that this crate writes itself; that they read is what its tests are for.
#[expect(clippy::panic, reason = "a fault of the generator, found by its tests")]
fn unreachable(why: &dyn std::fmt::Display) -> ! {
    panic!("the generator wrote what cannot be read: {why}")
}

#[cfg(test)]
mod tests;
