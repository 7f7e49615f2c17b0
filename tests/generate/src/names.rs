//! Invented makers and models.

const HEADS: [&str; 40] = [
    "Ashel", "Barrow", "Bramb", "Calder", "Cinder", "Clove", "Corrie", "Dapple", "Dunnock",
    "Elder", "Ember", "Fallow", "Fennel", "Flint", "Gannet", "Gorse", "Grebe", "Hawthe", "Heather",
    "Ivel", "Juniper", "Kestle", "Larch", "Linnet", "Mallow", "Merle", "Nettle", "Osier", "Pipit",
    "Plover", "Quince", "Redstart", "Rowan", "Sedge", "Siskin", "Sorrel", "Teasel", "Tern",
    "Umber", "Yarrow",
];
const TAILS: [&str; 40] = [
    "acre", "bank", "beck", "bourne", "brae", "cairn", "combe", "copse", "croft", "dale", "dene",
    "drift", "fell", "ford", "garth", "gate", "gill", "glade", "hanger", "haugh", "hay", "hithe",
    "holm", "holt", "howe", "hurst", "keld", "knapp", "lea", "ley", "mead", "mere", "moss", "pool",
    "shaw", "slade", "stead", "thorpe", "thwaite", "wick",
];
const HOUSES: [&str; 6] = ["", " & Daughters", " Works", " & Sons", " Joinery", " Makers"];
const LINES: [&str; 8] = ["Anvil", "Bittern", "Cob", "Drumlin", "Esker", "Furrow", "Hob", "Lintel"];

/// Products of one maker.
const EACH: usize = 12;

/// The maker and the model of a product's number, each pair once.
pub(crate) fn named(number: usize) -> (String, String) {
    let (maker, place) = (number / EACH, number % EACH);
    let pairs = HEADS.len() * TAILS.len();
    // Neighbours in number are not neighbours in name: 7 is coprime to the number of pairs.
    let pair = maker * 7 % pairs;
    let name = format!(
        "{}{}{}",
        HEADS[pair / TAILS.len()],
        TAILS[pair % TAILS.len()],
        HOUSES[maker / pairs % HOUSES.len()]
    );
    let line = LINES[(maker + place / 3) % LINES.len()];
    (name, format!("{line} {}", 3 + place % 3 * 2))
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn each_pair_of_maker_and_model_stands_once() {
        let all: HashSet<(String, String)> = (0..crate::MOST).map(named).collect();
        assert_eq!(all.len(), crate::MOST);
    }
}
