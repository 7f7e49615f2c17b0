//! The drawn findings of a field, kept from question to question.

use std::{
    collections::HashMap,
    sync::{Arc, Mutex, PoisonError},
};

use domain::key::ProductKey;

use super::Field;
use crate::{
    Engine,
    drawn::{self, Drawn, Store},
    scoring::Scored,
};

/// The file is written anew when more than one in so many products was drawn.
const NEW_SHARE: usize = 10;

/// Drawn products, and what they were drawn from.
#[derive(Debug)]
pub(crate) struct Kept {
    scored: Arc<Scored>,
    seed: u32,
    by_place: HashMap<usize, Arc<Drawn>>,
}

impl Kept {
    /// The draws of the products that are in `scored` as they were, by their places there.
    fn still_true_of(&self, scored: &Scored) -> HashMap<usize, Arc<Drawn>> {
        if !self.scored.judges_like(scored) {
            return HashMap::new();
        }
        let by_key: HashMap<&ProductKey, usize> = self
            .by_place
            .keys()
            .map(|&place| (&self.scored.products[place].dossier.product.key, place))
            .collect();
        let mut kept = HashMap::new();
        for (place, product) in scored.products.iter().enumerate() {
            if let Some(earlier) = by_key.get(&product.dossier.product.key)
                && product.is_as(&self.scored.products[*earlier])
                && let Some(drawn) = self.by_place.get(earlier)
            {
                kept.insert(place, Arc::clone(drawn));
            }
        }
        kept
    }
}

impl Engine {
    /// The draws of a field's products, in the order of [`Field::all`], and what could not be drawn.
    pub(crate) fn drawn_of(
        &self,
        scored: &Arc<Scored>,
        field: &Field<'_>,
        seed: u32,
    ) -> (Vec<Arc<Drawn>>, Vec<String>) {
        let places: Vec<usize> = field.all().map(|it| it.place).collect();
        self.drawn_at(scored, &places, seed)
    }

    /// The draws of some products, by their places in [`Scored::products`], in that order.
    pub(crate) fn drawn_at(
        &self,
        scored: &Arc<Scored>,
        places: &[usize],
        seed: u32,
    ) -> (Vec<Arc<Drawn>>, Vec<String>) {
        self.drawn_into(&self.drawn, self.store.as_ref(), scored, places, seed)
    }

    /// The same for the scores of hard findings alone, which are kept beside.
    pub(crate) fn drawn_hard(
        &self,
        hard: &Arc<Scored>,
        places: &[usize],
        seed: u32,
    ) -> (Vec<Arc<Drawn>>, Vec<String>) {
        self.drawn_into(&self.drawn_hard, None, hard, places, seed)
    }

    fn drawn_into(
        &self,
        slot: &Mutex<Option<Kept>>,
        store: Option<&Store>,
        scored: &Arc<Scored>,
        places: &[usize],
        seed: u32,
    ) -> (Vec<Arc<Drawn>>, Vec<String>) {
        let mut kept = slot.lock().unwrap_or_else(PoisonError::into_inner);
        let fits =
            kept.as_ref().is_some_and(|it| Arc::ptr_eq(&it.scored, scored) && it.seed == seed);
        if !fits {
            let by_place = kept
                .take()
                .filter(|it| it.seed == seed)
                .map_or_else(HashMap::new, |it| it.still_true_of(scored));
            *kept = Some(Kept { scored: Arc::clone(scored), seed, by_place });
        }
        let by_place = &mut kept
            .get_or_insert_with(|| Kept {
                scored: Arc::clone(scored),
                seed,
                by_place: HashMap::new(),
            })
            .by_place;
        let mut new: Vec<usize> =
            places.iter().copied().filter(|it| !by_place.contains_key(it)).collect();
        new.sort_unstable();
        new.dedup();
        if let Some(store) = store.filter(|_| !new.is_empty()) {
            let stored = store.read(|| drawn::keys(scored, &new, seed));
            by_place.extend(new.iter().zip(stored).filter_map(|(at, it)| Some((*at, it?))));
            new.retain(|it| !by_place.contains_key(it));
        }
        let (drawn, faults) =
            drawn::draw(scored, &new, &self.plugins, &scored.spreads, u64::from(seed));
        let is_new = new.len() * NEW_SHARE > places.len();
        by_place.extend(new.into_iter().zip(drawn));
        if let Some(store) = store.filter(|_| is_new && faults.is_empty()) {
            let all: Vec<(usize, Arc<Drawn>)> =
                by_place.iter().map(|(at, it)| (*at, Arc::clone(it))).collect();
            let which: Vec<usize> = all.iter().map(|it| it.0).collect();
            let keys = drawn::keys(scored, &which, seed);
            store.write(keys.into_iter().zip(all.into_iter().map(|it| it.1)).collect());
        }
        let all = places.iter().filter_map(|it| by_place.get(it).cloned()).collect();
        // A plugin that failed is tried again at the next question.
        if !faults.is_empty() {
            *kept = None;
        }
        (all, faults)
    }
}
