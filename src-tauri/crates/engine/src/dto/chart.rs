//! Charts as geometry: places are fractions of the plot area, 0 at the left and the top, so that the window only draws.

use super::answer;

answer! {
    /// A tick of an axis.
    pub struct Tick {
        /// Its place, 0 to 1.
        pub at: f64,
        /// Its label.
        pub label: String,
    }
}

answer! {
    /// An axis.
    pub struct Axis {
        /// What it shows, with the unit.
        pub title: String,
        /// Ticks in rising place.
        pub ticks: Vec<Tick>,
    }
}

answer! {
    /// One row of the dot plot.
    pub struct DotRow {
        /// The product's key.
        pub product: String,
        /// Maker and model.
        pub label: String,
        /// The ranks of 90 % of the draws, such as `3` or `2–5`; empty with too few products for ranks.
        pub rank: String,
        /// The place of the value; null when findings are missing.
        pub value: Option<f64>,
        /// The place of the lower end.
        pub low: f64,
        /// The place of the upper end.
        pub high: f64,
        /// The place below which 5 % of the draws lie.
        pub drawn_low: f64,
        /// The place below which half of the draws lie.
        pub drawn_median: f64,
        /// The place below which 95 % of the draws lie.
        pub drawn_high: f64,
        /// Number of its group, from 1; rows of one group are not told apart.
        pub group: u32,
        /// Whether nothing in the band surely beats it.
        pub on_frontier: bool,
        /// The place with all subsystems counting alike; empty with too few products for ranks.
        pub rank_equal: String,
        /// The whole row as a sentence, for screen readers and tooltips.
        pub sentence: String,
    }
}

answer! {
    /// Standings as dots with intervals, one row a product in the order of the standings.
    pub struct DotPlot {
        /// A title.
        pub title: String,
        /// What it shows, for screen readers.
        pub description: String,
        /// The index axis.
        pub x: Axis,
        /// Rows.
        pub rows: Vec<DotRow>,
        /// The groups of rows; empty with too few products for ranks.
        pub groups: Vec<DotGroup>,
    }
}

answer! {
    /// Rows that are not told apart, or one that stands alone.
    pub struct DotGroup {
        /// The place of its first row, from 0.
        pub first: u32,
        /// The place of its last row.
        pub last: u32,
        /// What the draws say of it.
        pub sentence: String,
    }
}

answer! {
    /// A standing before and after a change.
    pub struct MovedRow {
        /// The product's key.
        pub product: String,
        /// Maker and model.
        pub label: String,
        /// Before; null when not ranked.
        pub before: Option<MovedMark>,
        /// After; null when not ranked.
        pub after: Option<MovedMark>,
        /// The row as a sentence.
        pub sentence: String,
    }
}

answer! {
    /// One side of such a row.
    pub struct MovedMark {
        /// Its place in the list, from 1.
        pub place: u32,
        /// The place on the axis of the lower end of the index.
        pub low: f64,
        /// Of the upper end.
        pub high: f64,
        /// Below which 5 % of the draws lie.
        pub drawn_low: f64,
        /// Below which half of the draws lie.
        pub drawn_median: f64,
        /// Below which 95 % of the draws lie.
        pub drawn_high: f64,
        /// Whether nothing in the band surely beats it.
        pub on_frontier: bool,
    }
}

answer! {
    /// How standings move, in the order after the change; the changed product first.
    pub struct MovedPlot {
        /// A title.
        pub title: String,
        /// What it shows, for screen readers.
        pub description: String,
        /// The index axis.
        pub x: Axis,
        /// Rows.
        pub rows: Vec<MovedRow>,
    }
}

answer! {
    /// One mark of the scatter.
    pub struct ScatterMark {
        /// The product's key.
        pub product: String,
        /// Maker and model.
        pub label: String,
        /// The place on the price axis.
        pub x: f64,
        /// The place of the value; null when findings are missing.
        pub y: Option<f64>,
        /// The place of the lower end of the index.
        pub y_low: f64,
        /// The place of the upper end of the index.
        pub y_high: f64,
        /// Whether nothing in the band surely beats it.
        pub on_frontier: bool,
        /// What the data support of its value: `unbeaten`, `good value`, `overpriced`, or empty.
        pub word: String,
        /// The mark as a sentence.
        pub sentence: String,
    }
}

answer! {
    /// A place in the plot.
    pub struct PlotPoint {
        /// From the left.
        pub x: f64,
        /// From the top.
        pub y: f64,
    }
}

answer! {
    /// A curve to be drawn on demand.
    pub struct PlotCurve {
        /// A stable name.
        pub id: String,
        /// What it is called.
        pub name: String,
        /// What it shows and assumes, or why there is none.
        pub text: String,
        /// Its points; empty where there is none.
        pub points: Vec<PlotPoint>,
    }
}

answer! {
    /// Price against index.
    pub struct Scatter {
        /// A title.
        pub title: String,
        /// What it shows, for screen readers.
        pub description: String,
        /// The price axis, logarithmic.
        pub x: Axis,
        /// The index axis; place 0 is the top.
        pub y: Axis,
        /// Marks in the order of the standings.
        pub marks: Vec<ScatterMark>,
        /// The step line of the best index that is sure at each price; a product whose interval ends below it is beaten.
        pub floor: Vec<PlotPoint>,
        /// What a price usually buys, as a line; empty where there is none.
        pub expected: Vec<PlotPoint>,
        /// Where that line lies when the products are drawn anew: the outline of the bootstrap band.
        pub expected_band: Vec<PlotPoint>,
        /// Other curves through the same products, to be drawn on demand.
        pub others: Vec<PlotCurve>,
    }
}

answer! {
    /// How often one product holds one rank.
    pub struct RankCell {
        /// The rank, from 1.
        pub rank: u32,
        /// The share of the draws, 0 to 1.
        pub share: f64,
        /// The share in whole per cent, `<1` and `>99` at the ends; empty below half a per mille.
        pub label: String,
    }
}

answer! {
    /// One row of the strip.
    pub struct RankRow {
        /// The product's key.
        pub product: String,
        /// Maker and model.
        pub label: String,
        /// One cell a rank.
        pub cells: Vec<RankCell>,
        /// The row as a sentence.
        pub sentence: String,
    }
}

answer! {
    /// The share of draws at each rank, products down, ranks across.
    pub struct RankStrip {
        /// A title.
        pub title: String,
        /// What it shows, for screen readers.
        pub description: String,
        /// The ranks shown, from 1; the last may stand for itself and all below.
        pub ranks: Vec<String>,
        /// Rows in the order of the standings.
        pub rows: Vec<RankRow>,
    }
}

answer! {
    /// One mark of a small plot.
    pub struct PanelMark {
        /// The product's key.
        pub product: String,
        /// The place of the value; null when findings are missing.
        pub value: Option<f64>,
        /// The place of the lower end; null where the subsystem does not apply.
        pub low: Option<f64>,
        /// The place of the upper end.
        pub high: Option<f64>,
        /// The mark as a sentence.
        pub sentence: String,
    }
}

answer! {
    /// One subsystem of all products, in the order of the standings.
    pub struct Panel {
        /// The subsystem.
        pub subsystem: String,
        /// A title with its share of the index.
        pub title: String,
        /// What it shows, for screen readers.
        pub description: String,
        /// The axis, 0 to 100 points.
        pub x: Axis,
        /// Marks, one a product.
        pub marks: Vec<PanelMark>,
    }
}
