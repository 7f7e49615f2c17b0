//! Prices of one time in the dollars of another.

use domain::price::{Basis, PriceDate};
use standing::deflate::{NotConverted, real_pair};

use crate::answer::{Answer, FLAGS};
use crate::fault::{Code, Fault};
use crate::input::Input;
use crate::shape::{Calculation, Keys, Shape, gives, needed, optional};

/// The largest set.
const COUNT_MAX: i64 = 1_000_000;

pub(crate) static REAL_PRICE: Calculation = Calculation {
    name: "real-price",
    title: "the price of a pair in the dollars of another time",
    input: Keys::plain(&[
        needed("amount", Shape::POSITIVE, "USD", "the price as asked; the pair below 1e12"),
        needed("basis", Shape::Word(&["each", "pair", "set"]), "", "what it buys"),
        optional("count", Shape::Integer(1, COUNT_MAX), "", "how many speakers; for a set alone"),
        needed("from", Shape::Month, "", "when it was asked"),
        needed("to", Shape::Month, "", "the time whose dollars are meant"),
    ]),
    output: &[
        gives("pair", "USD", "the price of two speakers, as asked"),
        gives("real", "USD", "the same in the dollars of the time meant"),
        needed(
            FLAGS,
            Shape::List {
                of: &Shape::Word(&[
                    "from_year_only",
                    "to_year_only",
                    "from_interpolated",
                    "to_interpolated",
                    "from_after_table",
                    "to_after_table",
                ]),
                min: 0,
                max: 2,
            },
            "",
            "what it rests on besides published months, in this order",
        ),
    ],
    formula: "pair = 2·amount (each), amount (pair), 2·amount/count (set)
        real = pair·CPI[to]/CPI[from], of the month, or of the year where only that is given
        2025-10 was never published: the mean of its neighbours; after the table: its last month",
    valid: "2010-01 on; a year has to have an annual average; new prices in the United States",
    source: "U.S. Bureau of Labor Statistics, CPI-U, U.S. city average, all items, not seasonally \
        adjusted, series CUUR0000SA0, and How to Use the Consumer Price Index for Escalation",
    example: r#"{"amount": 249, "basis": "pair", "from": "2021-03", "to": "2024-06"}"#,
    run: |input| {
        let amount = input.number("amount")?;
        let pair = amount * 2.0 / f64::from(basis(input)?.count());
        let (from, to) = (date(input, "from")?, date(input, "to")?);
        let real = real_pair(pair, from, to).map_err(|why| {
            let field = match why {
                NotConverted::Amount { .. } => "amount",
                NotConverted::NoLevel(_) => match real_pair(pair, from, from) {
                    Ok(_) => "to",
                    Err(_) => "from",
                },
            };
            Fault::out_of_domain(field, why.to_string())
        })?;
        let flags: Vec<&str> = real.flags.iter().map(|it| it.word()).collect();
        Ok(Answer::new().with("pair", pair).with("real", real.amount).with(FLAGS, flags))
    },
};

fn basis(input: &Input) -> Result<Basis, Fault> {
    let basis = match input.text("basis")? {
        "each" => Basis::Each,
        "pair" => Basis::Pair,
        _ => return input.integer("count").map(Basis::Set),
    };
    if input.has("count") {
        let why = format!("count belongs with basis \"set\" alone, not with {:?}", basis.word());
        return Err(Fault::new(Code::UnknownKey, "count", why));
    }
    Ok(basis)
}

fn date(input: &Input, key: &str) -> Result<PriceDate, Fault> {
    let text = input.text(key)?;
    text.parse().map_err(|why: domain::price::BadDate| Fault::out_of_domain(key, why.to_string()))
}
