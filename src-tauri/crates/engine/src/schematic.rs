//! A schematic that follows from the nodes of a parts list.
//!
//! Any list can be drawn: [`plan`] decides what hangs down to the return, what lies along a line and which lines there are;
//! [`place`] gives it places. Symbols never overlap, and no wire runs through one; wires of two nodes that cannot avoid
//! each other cross at a right angle, without a joint. The symbols are the general ones of IEC 60617 (from memory): a box
//! for a resistor, two plates, half circles with a line beside them for a core, a box with a horn for a loudspeaker.

mod place;
mod plan;

use domain::{
    network::{Element, ElementKind},
    text::shortened,
};

use crate::dto::Schematic;
use plan::Plan;

/// More parts than a passive network has; the drawing would help nobody.
const MAX_PARTS: usize = 200;

/// Draws a parts list; `None` where no part has two nodes to lie between, and for more than 200 parts.
///
/// The list need not be one that can be solved. The same list gives the same drawing.
pub(crate) fn schematic(elements: &[Element]) -> Option<Schematic> {
    if elements.len() > MAX_PARTS || elements.iter().all(|it| it.from == it.to) {
        return None;
    }
    Some(place::drawn(elements, &Plan::of(elements)))
}

/// A part as a sentence, for screen readers and tooltips.
fn sentence(it: &Element) -> String {
    let what = match (it.kind, it.part) {
        (ElementKind::Driver, Some(part)) => format!("{part}, + on {} and − on {}", it.from, it.to),
        (kind, _) => {
            let made = if it.construction.is_empty() {
                String::new()
            } else {
                format!(" ({})", it.construction)
            };
            format!("{}{made} of {}, from {} to {}", kind.word(), it.typed, it.from, it.to)
        }
    };
    let loss = if it.loss_typed.is_empty() {
        String::new()
    } else {
        format!(", with {} in series", it.loss_typed)
    };
    let rating = if it.rating_typed.is_empty() {
        String::new()
    } else {
        format!(", rated {}", it.rating_typed)
    };
    format!("{}: {what}{loss}{rating}", it.name)
}

/// The value, or which driver it is.
fn detail(it: &Element, most: usize) -> String {
    match it.part {
        Some(part) => part.to_string(),
        None => cut(&it.typed, most),
    }
}

fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most { text.to_owned() } else { shortened(text, most - 1) }
}

#[cfg(test)]
mod tests;
