//! Names beside marks that cover nothing: each takes the first place that is free, the weightiest name first.

use export::Anchor;

/// A rectangle on paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Room {
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
}

impl Room {
    fn meets(&self, of: &Room) -> bool {
        self.left < of.right && of.left < self.right && self.top < of.bottom && of.top < self.bottom
    }

    fn holds(&self, of: &Room) -> bool {
        self.left <= of.left
            && of.right <= self.right
            && self.top <= of.top
            && of.bottom <= self.bottom
    }
}

/// A name that found its place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Placed {
    pub(super) text: String,
    pub(super) x: f64,
    /// The base line.
    pub(super) y: f64,
    pub(super) anchor: Anchor,
    pub(super) room: Room,
}

/// The base line lies so far below the middle of small words.
const MIDDLE: f64 = 2.7;
const AWAY: f64 = 3.0;

/// A text of a width at a place.
fn placed(text: &str, width: f64, x: f64, middle: f64, anchor: Anchor) -> Placed {
    let left = match anchor {
        Anchor::Start => x,
        Anchor::Middle => x - width / 2.0,
        Anchor::End => x - width,
    };
    let room = Room { left, right: left + width, top: middle - 4.5, bottom: middle + 4.5 };
    Placed { text: text.to_owned(), x, y: middle + MIDDLE, anchor, room }
}

/// A place for each mark that finds one, in the order of the marks; of several texts the first that fits. `taken` is what
/// must stay free beside the marks.
pub(super) fn place(
    wanted: &[(Vec<String>, Room)],
    inside: Room,
    size: f64,
    taken: &[Room],
) -> Vec<Option<Placed>> {
    let mut taken: Vec<Room> = taken.iter().copied().chain(wanted.iter().map(|it| it.1)).collect();
    let mut list = Vec::new();
    for (texts, mark) in wanted {
        let (middle, centre) =
            (f64::midpoint(mark.top, mark.bottom), f64::midpoint(mark.left, mark.right));
        let mut found = None;
        for text in texts {
            let width = export::printed_width(text, size);
            let beside = |y: f64| {
                [(mark.right + AWAY, y, Anchor::Start), (mark.left - AWAY, y, Anchor::End)]
            };
            let over = [
                (centre, mark.top - AWAY - 4.5, Anchor::Middle),
                (centre, mark.bottom + AWAY + 4.5, Anchor::Middle),
            ];
            let places = beside(middle)
                .into_iter()
                .chain(over)
                .chain(beside(mark.top))
                .chain(beside(mark.bottom));
            found = places
                .map(|(x, y, anchor)| placed(text, width, x, y, anchor))
                .find(|it| inside.holds(&it.room) && !taken.iter().any(|of| of.meets(&it.room)));
            if found.is_some() {
                break;
            }
        }
        taken.extend(found.iter().map(|it| it.room));
        list.push(found);
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    const INSIDE: Room = Room { left: 0.0, right: 200.0, top: 0.0, bottom: 100.0 };

    fn mark(x: f64, y: f64) -> Room {
        Room { left: x - 3.0, right: x + 3.0, top: y - 3.0, bottom: y + 3.0 }
    }

    #[test]
    fn names_cover_neither_marks_nor_each_other() {
        let wanted: Vec<(Vec<String>, Room)> =
            [(40.0, 40.0), (60.0, 42.0), (50.0, 50.0), (199.0, 99.0)]
                .map(|(x, y)| {
                    (vec!["A rather long name".to_owned(), "short".to_owned()], mark(x, y))
                })
                .into();
        let list = place(&wanted, INSIDE, 8.0, &[]);
        let rooms: Vec<Room> = list.iter().flatten().map(|it| it.room).collect();
        assert!(rooms.len() >= 3, "{list:?}");
        for (at, it) in rooms.iter().enumerate() {
            assert!(INSIDE.holds(it));
            assert!(!wanted.iter().any(|of| of.1.meets(it)), "{it:?} covers a mark");
            assert!(!rooms[at + 1..].iter().any(|of| of.meets(it)), "{it:?} covers a name");
        }
    }

    #[test]
    fn a_mark_without_room_stays_without_a_name() {
        let wanted = vec![(vec!["A rather long name".to_owned()], mark(5.0, 5.0))];
        let narrow = Room { right: 30.0, ..INSIDE };
        assert_eq!(place(&wanted, narrow, 8.0, &[]), vec![None]);
    }
}
