//! Products in which some words stand, and those that lack a finding.
//!
//! People write the same texts again and again: the 700,000 findings of 10,000 products hold 22,000 different
//! ones. So each text is kept once, with the products that it is written about, and a search goes through the texts. They are
//! read at the first search, by all cores and without anything else of a finding, and kept until the file is another.

use std::{
    collections::{HashMap, HashSet},
    sync::{Arc, PoisonError},
};

use catalog::{Reader, Share};
use domain::{
    dictionary::Dictionary,
    dossier::Dossier,
    key::ProductKey,
    part::{Part, Role},
};

use crate::{
    Engine, Error,
    declared::Declarations,
    pricing::Terms,
    products::{ProductsRequest, is_answered, is_expected},
    shares,
};

/// Products that are read together.
const READ_TOGETHER: usize = 500;
/// Words that are looked for at once: one bit of a product each.
const AT_ONCE: usize = 64;

/// What whether other findings are expected depends on, as [`is_expected`] asks for it.
const CONDITIONS: [(Part, &str); 4] = [
    (Part::first(Role::Cabinet), "box_type"),
    (Part::first(Role::Cabinet), "brace_count"),
    (Part::first(Role::Cabinet), "lining_material"),
    (Part::first(Role::Crossover), "present"),
];

/// What is written about the products of a catalogue.
#[derive(Debug)]
pub(crate) struct Concordance {
    keys: Vec<ProductKey>,
    /// Each text in lower case, with the places of its products in `keys`.
    texts: Vec<(String, Vec<u32>)>,
}

/// Texts as they are written, with the places of their products. Where rows of one product follow each other it stands once.
type Written = HashMap<Box<str>, Vec<u32>>;

fn note(written: &mut Written, text: &str, place: u32) {
    if text.is_empty() {
        return;
    }
    match written.get_mut(text) {
        Some(places) if places.last() == Some(&place) => {}
        Some(places) => places.push(place),
        None => {
            written.insert(text.into(), vec![place]);
        }
    }
}

/// The products of a catalogue, and what they are called.
struct Names {
    keys: Vec<ProductKey>,
    /// The place of a product in `keys`, by the number of its row.
    places: HashMap<i64, u32>,
    written: Written,
}

impl Names {
    fn read(reader: &Reader) -> Result<Self, Error> {
        let mut places = HashMap::new();
        let mut written = Written::new();
        let products = reader.names(|row, text| {
            // A list of products that fits into memory has no more than 32 bits of places.
            let next = u32::try_from(places.len()).unwrap_or(u32::MAX);
            note(&mut written, text, *places.entry(row).or_insert(next));
        })?;
        Ok(Names { keys: products.into_iter().map(|it| it.1).collect(), places, written })
    }
}

/// A share of what else is written.
fn share(reader: &Reader, share: Share, places: &HashMap<i64, u32>) -> Result<Written, Error> {
    let mut written = Written::new();
    // Rows of one product mostly follow each other.
    let mut last = None;
    reader.texts(share, |row, text| {
        if last.is_none_or(|(of, _)| of != row) {
            // A product that is not there yet belongs to the next state of the file, which is read anew.
            last = places.get(&row).map(|it| (row, *it));
        }
        if let Some((_, place)) = last {
            note(&mut written, text, place);
        }
    })?;
    Ok(written)
}

impl Concordance {
    /// Read by one reader, at one moment.
    fn read(reader: &Reader) -> Result<Self, Error> {
        reader.at_one_moment(|reader| {
            let names = Names::read(reader)?;
            let rest = share(reader, Share::WHOLE, &names.places)?;
            Ok(Concordance::of(names, [rest]))
        })
    }

    fn of(names: Names, shares: impl IntoIterator<Item = Written>) -> Self {
        let mut written = names.written;
        for (text, places) in shares.into_iter().flatten() {
            written.entry(text).or_default().extend(places);
        }
        let texts = written.into_iter().map(|(text, mut places)| {
            places.shrink_to_fit();
            (text.to_lowercase(), places)
        });
        Concordance { texts: texts.collect(), keys: names.keys }
    }

    /// The products in which each of some words stands somewhere; the words are in lower case and hold no space.
    fn holding(&self, words: &[String]) -> HashSet<ProductKey> {
        let mut holds = vec![true; self.keys.len()];
        for words in words.chunks(AT_ONCE) {
            let mut found = vec![0_u64; self.keys.len()];
            for (text, places) in &self.texts {
                let bits = words
                    .iter()
                    .enumerate()
                    .filter(|(_, word)| text.contains(word.as_str()))
                    .fold(0_u64, |bits, (at, _)| bits | 1 << at);
                if bits != 0 {
                    for place in places {
                        found[*place as usize] |= bits;
                    }
                }
            }
            let all = u64::MAX >> (AT_ONCE - words.len());
            for (holds, found) in holds.iter_mut().zip(found) {
                *holds &= found == all;
            }
        }
        let held = self.keys.iter().zip(holds).filter(|(_, holds)| *holds);
        held.map(|(key, _)| key.clone()).collect()
    }
}

impl Engine {
    /// The products that a request for words or for a missing finding lets through; nothing where it asks for neither.
    pub(crate) fn searched(
        &self,
        request: &ProductsRequest,
        terms: &Terms,
    ) -> Result<Option<HashSet<ProductKey>>, Error> {
        let words = request.words.iter().flat_map(|it| it.split_whitespace());
        let words: Vec<String> = words.map(str::to_lowercase).collect();
        if words.is_empty() && request.missing.is_none() {
            return Ok(None);
        }
        let dictionary = Declarations::read(&self.reader())?.dictionary;
        let lacking = request.missing.as_deref().map(|it| address(it, &dictionary)).transpose()?;
        let holding =
            if words.is_empty() { None } else { Some(self.concordance()?.holding(&words)) };
        let Some((part, key)) = lacking else { return Ok(holding) };
        let shelf = self.shelf(terms)?;
        let among = shelf.iter().map(|it| &it.key);
        let among: Vec<_> =
            among.filter(|key| holding.as_ref().is_none_or(|it| it.contains(*key))).collect();
        self.lacking(&among, part, key, &dictionary).map(Some)
    }

    /// What is written about the products; kept until the file is another.
    fn concordance(&self) -> Result<Arc<Concordance>, Error> {
        let version = self.reader().data_version()?;
        let kept = self.written.lock().unwrap_or_else(PoisonError::into_inner).clone();
        if let Some((_, kept)) = kept.filter(|it| it.0 == version) {
            return Ok(kept);
        }
        let it = if self.is_large()? {
            self.concordance_of_shares(version)?
        } else {
            Concordance::read(&self.reader())?
        };
        let it = Arc::new(it);
        *self.written.lock().unwrap_or_else(PoisonError::into_inner) =
            Some((version, Arc::clone(&it)));
        Ok(it)
    }

    /// Read by a reader for each core; once more by one if somebody has written since.
    fn concordance_of_shares(&self, version: i64) -> Result<Concordance, Error> {
        let names = Names::read(&self.reader())?;
        let written = self
            .read_at_once(&shares::of_tables(), |reader, it| share(reader, *it, &names.places))?;
        let reader = self.reader();
        if reader.data_version()? == version {
            return Ok(Concordance::of(names, written));
        }
        Concordance::read(&reader)
    }

    /// Those of some products that lack a finding which a complete teardown of them holds.
    fn lacking(
        &self,
        among: &[&ProductKey],
        part: Part,
        key: &str,
        dictionary: &Dictionary,
    ) -> Result<HashSet<ProductKey>, Error> {
        let Some(entry) = dictionary.find(part.role, key) else { return Ok(HashSet::new()) };
        let mut places = CONDITIONS.to_vec();
        places.push((part, key));
        let lacks = |it: &Dossier| is_expected(it, entry.expected) && !is_answered(it, part, key);
        let mut lacking = HashSet::new();
        for some in among.chunks(READ_TOGETHER) {
            let some = some.iter().copied();
            let found = self.reader().findings_at(some, &places, dictionary)?;
            let (there, unseen): (Vec<_>, Vec<_>) =
                found.into_iter().filter(lacks).partition(|it| it.parts().contains(&part));
            lacking.extend(there.into_iter().map(|it| it.product.key));
            // A part that not every product has is there where anything was found of it.
            let unseen = unseen.iter().map(|it| &it.product.key);
            let seen = self.reader().findings_of(unseen, part, dictionary)?;
            let there = seen.into_iter().filter(|it| it.parts().contains(&part));
            lacking.extend(there.map(|it| it.product.key));
        }
        Ok(lacking)
    }
}

/// A finding address as typed.
fn address<'t>(text: &'t str, dictionary: &Dictionary) -> Result<(Part, &'t str), Error> {
    let known = text
        .split_once('.')
        .and_then(|(part, key)| Some((part.parse::<Part>().ok()?, key)))
        .filter(|(part, key)| dictionary.find(part.role, key).is_some());
    known.ok_or_else(|| Error::Request {
        place: "missing",
        text: text.into(),
        why: "is no finding".into(),
        accepted: "part.key, such as cabinet.lining_thick or woofer.fs".into(),
    })
}

#[cfg(test)]
mod tests;
