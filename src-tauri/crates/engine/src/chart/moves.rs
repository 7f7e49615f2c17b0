//! How standings move with a change that is not saved.

use super::{Scale, axis, index_scale};
use crate::dto::{MovedDto, MovedMark, MovedPlot, MovedRow, PlacedDto, WhatIfReport};

/// Before and after, row by row as the report has them.
pub(crate) fn moves(report: &WhatIfReport) -> MovedPlot {
    let sides = || report.moved.iter().flat_map(|it| [&it.before, &it.after]).flatten();
    let (scale, ticks) = index_scale(sides().map(|it| (&it.index, &it.spread)));
    MovedPlot {
        title: "Before and after".into(),
        description: format!(
            "{} products whose standing moves; the upper bar of each is before the change, the lower one after it",
            report.moved.len()
        ),
        x: axis("index, 0 to 100".into(), &scale, &ticks, false),
        rows: report.moved.iter().map(|it| row(it, &scale)).collect(),
    }
}

fn row(it: &MovedDto, scale: &Scale) -> MovedRow {
    let mark = |it: &PlacedDto| MovedMark {
        place: it.place,
        low: scale.at(it.index.low),
        high: scale.at(it.index.high),
        drawn_low: scale.at(it.spread.low),
        drawn_median: scale.at(it.spread.median),
        drawn_high: scale.at(it.spread.high),
        on_frontier: it.on_frontier,
    };
    let said = |it: &Option<PlacedDto>| {
        it.as_ref().map_or_else(
            || "not ranked".to_owned(),
            |it| format!("place {}, index {:.0} to {:.0}", it.place, it.spread.low, it.spread.high),
        )
    };
    MovedRow {
        product: it.product.clone(),
        label: it.label.clone(),
        before: it.before.as_ref().map(mark),
        after: it.after.as_ref().map(mark),
        sentence: format!("{}: before {}; after {}", it.label, said(&it.before), said(&it.after)),
    }
}
