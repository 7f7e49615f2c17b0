//! A sweep with what is fitted to it.

use super::{Axis, PlotPoint, answer};

answer! {
    /// A sweep of a part, as recorded or as read from a text.
    pub struct SweepReport {
        /// The product's key.
        pub product: String,
        /// The specimen.
        pub specimen: String,
        /// The day of the teardown.
        pub date: String,
        /// What was measured.
        pub part: String,
        /// What can be measured: `whole` and the drivers.
        pub parts: Vec<String>,
        /// Those of which this teardown holds a sweep.
        pub recorded_parts: Vec<String>,
        /// The number of points; 0 where there is no sweep.
        pub points: u32,
        /// The note.
        pub note: String,
        /// Whether the catalogue holds this sweep.
        pub recorded: bool,
        /// Whether this call changed the catalogue.
        pub changed: bool,
        /// What cannot be read of the text.
        pub faults: Vec<SweepFault>,
        /// What was assumed, converted or passed over when the text was read.
        pub remarks: Vec<SweepRemark>,
        /// The drawing; null where there is no sweep.
        pub chart: Option<SweepChart>,
        /// The fit; null where there is none.
        pub fit: Option<FitDto>,
        /// Why there is no fit; empty where there is one.
        pub no_fit: String,
    }
}

answer! {
    /// What cannot be read.
    pub struct SweepFault {
        /// The line, from 1; null where the text as a whole is meant.
        pub line: Option<u32>,
        /// `frequency`, `magnitude` or `phase`; empty where the row as a whole is meant.
        pub column: String,
        /// What is wrong.
        pub message: String,
        /// What would be right.
        pub accepted: String,
    }
}

answer! {
    /// What is not written in the text in so many words.
    pub struct SweepRemark {
        /// The line, from 1, where there is one.
        pub line: Option<u32>,
        /// The sentence.
        pub text: String,
    }
}

answer! {
    /// What a model explains of a sweep.
    pub struct FitDto {
        /// The model in words.
        pub model: String,
        /// Its parameters.
        pub parameters: Vec<FitParameter>,
        /// The scatter of the points around it, in per cent of the magnitude, as text.
        pub scatter: String,
        /// From which to which frequency it was fitted, as text.
        pub range: String,
        /// What was assumed.
        pub assumed: Vec<String>,
    }
}

answer! {
    /// One fitted parameter.
    pub struct FitParameter {
        /// Its sign in formulas.
        pub sign: String,
        /// What it is.
        pub label: String,
        /// The value with its standard uncertainty and unit.
        pub shown: String,
    }
}

answer! {
    /// A sweep over a logarithmic frequency axis: magnitude, phase where it was measured, and what a fit leaves over.
    pub struct SweepChart {
        /// A title.
        pub title: String,
        /// What it shows, for screen readers.
        pub description: String,
        /// The frequency axis, logarithmic.
        pub x: Axis,
        /// The panels from top to bottom.
        pub panels: Vec<SweepPanel>,
    }
}

answer! {
    /// One panel.
    pub struct SweepPanel {
        /// What it shows: `magnitude`, `phase` or `residual`.
        pub shows: String,
        /// Its axis; place 0 is the top.
        pub y: Axis,
        /// The place of zero; null where it is not in the panel.
        pub zero: Option<f64>,
        /// The points; of many only some are drawn.
        pub dots: Vec<SweepDot>,
        /// The fitted curve; empty where there is none.
        pub curve: Vec<PlotPoint>,
    }
}

answer! {
    /// A point.
    pub struct SweepDot {
        /// From the left.
        pub x: f64,
        /// From the top.
        pub y: f64,
        /// The point as a sentence.
        pub sentence: String,
    }
}
