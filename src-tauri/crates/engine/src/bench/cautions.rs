//! What can hurt or break while a part is at hand. Common practice, no source; local codes come first.

use domain::{
    part::{Part, Role},
    product::Product,
};

/// Said once for the whole job.
pub(super) fn of_product(product: &Product) -> Vec<String> {
    let mut list = Vec::new();
    if product.powered {
        list.push(
            "This one has an amplifier of its own: mains, and capacitors that stay charged after unplugging. Leave it \
             closed, or to qualified people.",
        );
    }
    list.push(
        "Local codes, the maker's instructions and licensed practice come before anything that is said here.",
    );
    list.into_iter().map(str::to_owned).collect()
}

/// Said beside a part.
pub(super) fn of_part(part: Part) -> Vec<String> {
    let list: &[&str] = match part.role {
        Role::Whole => &["Lift with the legs, and lay a floor-stander down with somebody."],
        Role::Cabinet => &[
            "Glass and mineral wool irritate skin, eyes and lungs: gloves, glasses, mask.",
            "Sawn or drilled board sheds fine dust; draw it off.",
        ],
        Role::Woofer | Role::Midrange => &[
            "Magnets pinch, chip and harm pacemakers, cards and watches; a screwdriver jumps at them and into the cone.",
            "Sweeps are louder than they seem: begin low, keep them short, protect your hearing.",
        ],
        Role::Tweeter => &[
            "Magnets pinch, chip and harm pacemakers, cards and watches; a dome does not forgive a finger.",
            "A low sweep, or an amplifier switched on, can destroy a tweeter without its capacitor.",
        ],
        Role::Crossover => &[
            "Iron and hot air burn, solder spits and smokes: stand, glasses, fresh air; wash your hands.",
            "Photograph and label wires before you disconnect them.",
        ],
        Role::Wiring => &[
            "Photograph and label wires before you disconnect them; cut nothing that is under load or tension.",
            "A joint that was just soldered is hot for longer than it looks.",
        ],
    };
    list.iter().map(|it| (*it).to_owned()).collect()
}
