//! The answers about how firm a standing is, what would settle it, and what if.

use std::collections::BTreeMap;

use super::{BandDto, IntervalDto, Remark, SpanDto, answer};

answer! {
    /// How far weights may move before the winner changes.
    pub struct StabilityReport {
        /// The band.
        pub band: BandDto,
        /// The rubrics that scored.
        pub rubric: String,
        /// The share of each subsystem in the index.
        pub weights: BTreeMap<String, f64>,
        /// The product that is first at these weights; null with fewer than two products that can be compared.
        pub winner: Option<String>,
        /// Within which limits each weight may move alone.
        pub intervals: Vec<WeightIntervalDto>,
        /// How much weight must move for another product to be first, the least first.
        pub shifts: Vec<ShiftDto>,
        /// The seed of the draws.
        pub seed: u32,
        /// The number of draws of weights.
        pub draws: u32,
        /// How often each product is first or joint first, by key: near these weights, and over all weights.
        pub first: Vec<FirstDto>,
        /// Products that the exact intervals leave out, and why.
        pub left_out: Vec<LeftOutDto>,
        /// What follows, one sentence each.
        pub sentences: Vec<String>,
        /// What went wrong on the way.
        pub remarks: Vec<Remark>,
    }
}

answer! {
    /// Within which limits one weight may move, the others rescaled in proportion, before the winner changes.
    pub struct WeightIntervalDto {
        /// The subsystem.
        pub subsystem: String,
        /// Its weight now.
        pub weight: f64,
        /// The lower limit; null for a weight of 1.
        pub low: Option<f64>,
        /// The upper limit.
        pub high: Option<f64>,
        /// Who takes over below; null at 0.
        pub rival_low: Option<String>,
        /// Who takes over above; null at 1.
        pub rival_high: Option<String>,
    }
}

answer! {
    /// The least weight that must move for a rival to draw level.
    pub struct ShiftDto {
        /// The rival.
        pub product: String,
        /// The weight, as a share of 1; null when no weights bring it level.
        pub shift: Option<f64>,
        /// The subsystems that give weight.
        pub from: Vec<String>,
        /// The subsystem that takes it.
        pub to: Option<String>,
    }
}

answer! {
    /// How often a product is first.
    pub struct FirstDto {
        /// The product's key.
        pub product: String,
        /// Its index.
        pub index: IntervalDto,
        /// The share of the draws near the weights asked for.
        pub near: f64,
        /// The share of all possible weights.
        pub any: f64,
        /// The mean of the weights that put it first.
        pub central_weights: Option<BTreeMap<String, f64>>,
        /// How often it is first at these central weights, findings drawn.
        pub confidence: Option<f64>,
    }
}

answer! {
    /// A product that is left out, and why.
    pub struct LeftOutDto {
        /// The product's key.
        pub product: String,
        /// Why, one clause.
        pub why: String,
    }
}

answer! {
    /// What to measure or open next, and what it would settle.
    pub struct NextReport {
        /// The band.
        pub band: BandDto,
        /// The rubrics that scored.
        pub rubric: String,
        /// The seed of the draws.
        pub seed: u32,
        /// The number of draws of the findings of each product.
        pub finding_draws: u32,
        /// Pairs of ranked products.
        pub pairs: u32,
        /// The doubt left about their order: 0 when each is settled, `pairs` when each is a coin toss.
        pub doubt: f64,
        /// Findings worth measuring, the most useful first.
        pub measure: Vec<MeasureDto>,
        /// Products that a few findings would bring into the ranking.
        pub finish: Vec<FinishDto>,
        /// What more products would allow.
        pub open: Vec<GateDto>,
        /// The widest gap in price: a product from here says most about what a price buys; null when the band is open.
        pub gap: Option<GapDto>,
        /// What went wrong on the way.
        pub remarks: Vec<Remark>,
    }
}

answer! {
    /// A finding worth measuring.
    pub struct MeasureDto {
        /// The product's key.
        pub product: String,
        /// Maker and model.
        pub label: String,
        /// The findings that go together, as addresses.
        pub findings: Vec<String>,
        /// What they are, for people.
        pub what: String,
        /// `missing`, `soft` or `uncertain`.
        pub state: String,
        /// The share of the variance of the product's index.
        pub share: f64,
        /// By how much the doubt is expected to fall, to first order.
        pub settled: f64,
        /// The same, counted in the draws.
        pub settled_drawn: f64,
        /// The product whose order against this one gains most.
        pub rival: Option<String>,
        /// What it would settle, as a sentence.
        pub text: String,
    }
}

answer! {
    /// A product that is not ranked yet.
    pub struct FinishDto {
        /// The product's key.
        pub product: String,
        /// The share of its score that is known.
        pub coverage: f64,
        /// The findings that are missing, the weightiest first, as many as lift it over the gate.
        pub findings: Vec<String>,
        /// What it takes, as a sentence.
        pub text: String,
    }
}

answer! {
    /// A limit that the band has not reached.
    pub struct GateDto {
        /// What it would allow.
        pub allows: String,
        /// Products now.
        pub have: u32,
        /// Products needed.
        pub need: u32,
        /// As a sentence.
        pub text: String,
    }
}

answer! {
    /// A gap between two prices.
    pub struct GapDto {
        /// Lower end, real price of a pair.
        pub low: f64,
        /// Upper end.
        pub high: f64,
        /// As a sentence.
        pub text: String,
    }
}

answer! {
    /// How the standings would move; nothing is saved.
    pub struct WhatIfReport {
        /// The band.
        pub band: BandDto,
        /// The product that is changed.
        pub product: String,
        /// What is changed.
        pub changes: Vec<ChangeDto>,
        /// The seed of the draws, which both sides share.
        pub seed: u32,
        /// The number of draws of weights.
        pub draws: u32,
        /// The product itself, then the others whose standing moves, in the order after the change.
        pub moved: Vec<MovedDto>,
        /// How many others stay as they are.
        pub unmoved: u32,
        /// What follows, one sentence each.
        pub sentences: Vec<String>,
        /// What went wrong on the way.
        pub remarks: Vec<Remark>,
    }
}

answer! {
    /// One change.
    pub struct ChangeDto {
        /// A finding's address, `price`, or a weight such as `weight of cabinet`.
        pub what: String,
        /// As it is; `not recorded` where there is nothing.
        pub before: String,
        /// As it would be.
        pub after: String,
    }
}

answer! {
    /// A product before and after.
    pub struct MovedDto {
        /// The product's key.
        pub product: String,
        /// Maker and model.
        pub label: String,
        /// Before; null when not ranked.
        pub before: Option<PlacedDto>,
        /// After; null when not ranked.
        pub after: Option<PlacedDto>,
    }
}

answer! {
    /// A standing in short.
    pub struct PlacedDto {
        /// Its place in the list, from 1.
        pub place: u32,
        /// The index.
        pub index: IntervalDto,
        /// The index with its uncertainty.
        pub spread: SpanDto,
        /// 5 % of the draws rank it better.
        pub rank_low: u32,
        /// 5 % of the draws rank it worse.
        pub rank_high: u32,
        /// The probability of being first.
        pub p_first: f64,
        /// Value points.
        pub value: Option<f64>,
        /// Real price of a pair.
        pub real_pair: f64,
        /// Whether nothing in the band surely beats it.
        pub on_frontier: bool,
    }
}

answer! {
    /// What is usual among the products of a band, finding by finding.
    pub struct NormalReport {
        /// The band.
        pub band: BandDto,
        /// How many products of the band were opened, ranked or not.
        pub opened: u32,
        /// Numbers: median, quartiles and their intervals.
        pub numbers: Vec<NormalNumberDto>,
        /// Choices, counts and yes or no: how many have it.
        pub shares: Vec<NormalShareDto>,
        /// Differences between kinds of products, where both have enough.
        pub differences: Vec<DifferenceDto>,
        /// What went wrong on the way.
        pub remarks: Vec<Remark>,
    }
}

answer! {
    /// What is usual for a number.
    pub struct NormalNumberDto {
        /// A finding's address or a quantity.
        pub address: String,
        /// What it is.
        pub label: String,
        /// The unit of the numbers below.
        pub unit: String,
        /// How many products have it.
        pub n: u32,
        /// Smallest.
        pub min: f64,
        /// Lower quartile; null with fewer than 8.
        pub q1: Option<f64>,
        /// Median.
        pub median: f64,
        /// Lower end of the 90 % interval of the median; null with fewer than 5.
        pub median_low: Option<f64>,
        /// Upper end.
        pub median_high: Option<f64>,
        /// Upper quartile.
        pub q3: Option<f64>,
        /// Largest.
        pub max: f64,
    }
}

answer! {
    /// How many have a property.
    pub struct NormalShareDto {
        /// The finding's address.
        pub address: String,
        /// The property in words, such as `panel material mdf`.
        pub property: String,
        /// How many have it.
        pub yes: u32,
        /// Of how many it is not known.
        pub unknown: u32,
        /// How many were opened.
        pub opened: u32,
        /// Lower end of the exact 90 % interval for products like these.
        pub low: f64,
        /// Upper end.
        pub high: f64,
        /// `most`, `few`, `nearly all`, `about half`, or empty: the word that may be used of the market.
        pub word: String,
        /// The sentence that may be printed.
        pub text: String,
    }
}

answer! {
    /// How two kinds of products differ.
    pub struct DifferenceDto {
        /// Of what, such as `index`.
        pub of: String,
        /// The first kind.
        pub a: String,
        /// The second kind.
        pub b: String,
        /// How many of the first.
        pub n_a: u32,
        /// How many of the second.
        pub n_b: u32,
        /// Shift of the first against the second (Hodges-Lehmann).
        pub shift: f64,
        /// Lower end of its 90 % interval.
        pub low: Option<f64>,
        /// Upper end.
        pub high: Option<f64>,
        /// Exact two-sided p.
        pub p: f64,
        /// The sentence that may be printed.
        pub text: String,
    }
}

answer! {
    /// Who ranks where, and no more.
    pub struct RankReport {
        /// The rubric in use.
        pub rubric: String,
        /// The share of each subsystem.
        pub weights: BTreeMap<String, f64>,
        /// The band.
        pub band: BandDto,
        /// The products, best first; none where there are too few for rank words.
        pub rows: Vec<RankedRow>,
    }
}

answer! {
    /// The rank of one product.
    pub struct RankedRow {
        /// The product's key.
        pub product: String,
        /// Maker and model.
        pub label: String,
        /// The index, 0 to 100.
        pub index: IntervalDto,
        /// The index with its uncertainty.
        pub spread: SpanDto,
        /// Number of its group, from 1; rows of one group are not told apart.
        pub group: u32,
        /// Whether nothing in the band surely beats it.
        pub on_frontier: bool,
        /// Its place with all subsystems counting alike.
        pub rank_equal_weights: u32,
        /// 5 % of the draws rank it better.
        pub low: u32,
        /// The median rank over the draws.
        pub median: u32,
        /// 5 % of the draws rank it worse.
        pub high: u32,
        /// The share of the draws in which it is first.
        pub p_first: f64,
    }
}

answer! {
    /// The ranks and their picture, for the window.
    pub struct RankView {
        /// The ranks.
        pub report: RankReport,
        /// The same as dots with intervals.
        pub dots: super::DotPlot,
    }
}

answer! {
    /// What if, and its picture, for the window.
    pub struct WhatIfView {
        /// The same answer that the command line prints.
        pub report: WhatIfReport,
        /// The standings that move, before and after.
        pub moves: super::MovedPlot,
    }
}
