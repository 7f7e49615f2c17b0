//! The drawn findings of a field, kept from question to question.

use std::{
    collections::HashMap,
    sync::{Arc, Mutex, PoisonError},
};

use domain::key::ProductKey;

use super::{Field, Member};
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

    /// The draws of a field's ranked products, in their order. Those around the band, who have no rank, are not drawn for it.
    pub(crate) fn drawn_of_ranked(
        &self,
        scored: &Arc<Scored>,
        field: &Field<'_>,
        seed: u32,
    ) -> (Vec<Arc<Drawn>>, Vec<String>) {
        let of = |list: &[Member<'_>]| list.iter().map(|it| it.place).collect::<Vec<_>>();
        let (ranked, around) = (of(&field.ranked), of(&field.around));
        self.drawn_into(&self.drawn, self.store.as_ref(), scored, &ranked, &around, seed)
    }

    /// The draws of some products, by their places in [`Scored::products`], in that order.
    pub(crate) fn drawn_at(
        &self,
        scored: &Arc<Scored>,
        places: &[usize],
        seed: u32,
    ) -> (Vec<Arc<Drawn>>, Vec<String>) {
        if self.is_kept(scored) {
            return self.drawn_into(&self.drawn, self.store.as_ref(), scored, places, &[], seed);
        }
        self.drawn_beside(scored, places, seed)
    }

    /// The same for the scores of hard findings alone, which are kept beside.
    pub(crate) fn drawn_hard(
        &self,
        hard: &Arc<Scored>,
        places: &[usize],
        seed: u32,
    ) -> (Vec<Arc<Drawn>>, Vec<String>) {
        self.drawn_into(&self.drawn_hard, None, hard, places, &[], seed)
    }

    /// The draws of products whose scores are only looked at: those that are kept serve as far as they are true, and stay.
    fn drawn_beside(
        &self,
        scored: &Arc<Scored>,
        places: &[usize],
        seed: u32,
    ) -> (Vec<Arc<Drawn>>, Vec<String>) {
        let mut by_place = {
            let kept = self.drawn.lock().unwrap_or_else(PoisonError::into_inner);
            let kept = kept.as_ref().filter(|it| it.seed == seed);
            kept.map_or_else(HashMap::new, |it| it.still_true_of(scored))
        };
        let mut new: Vec<usize> =
            places.iter().copied().filter(|it| !by_place.contains_key(it)).collect();
        new.sort_unstable();
        new.dedup();
        let (drawn, faults) =
            drawn::draw(scored, &new, &self.plugins, &scored.spreads, u64::from(seed));
        by_place.extend(new.into_iter().zip(drawn));
        (places.iter().filter_map(|it| by_place.get(it).cloned()).collect(), faults)
    }

    /// `later` are products that will be asked for next; their draws of the last start are read with the others'.
    fn drawn_into(
        &self,
        slot: &Mutex<Option<Kept>>,
        store: Option<&Store>,
        scored: &Arc<Scored>,
        places: &[usize],
        later: &[usize],
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
            let wanted: Vec<usize> = new.iter().chain(later).copied().collect();
            let stored = store.read(|| drawn::keys(scored, &wanted, seed));
            by_place.extend(wanted.iter().zip(stored).filter_map(|(at, it)| Some((*at, it?))));
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
