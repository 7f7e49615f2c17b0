//! Keys cut so short that they carry their product.

use pulp::Simd;
use pulp::bytemuck::cast_slice;

use super::keys::Keys;
use super::network::UNIT;

/// How keys are cut so that they fit into a positive number with their product. They keep their order, or become alike.
#[derive(Clone, Copy)]
pub(super) struct Short {
    low: u32,
    cut: u32,
    /// Bits that say which product it is.
    product: u32,
}

impl Short {
    #[inline(always)]
    pub(super) fn of<S: Simd>(simd: S, keys: &[Keys]) -> Self {
        let (rows, _) = S::as_simd_f32s(cast_slice(keys.as_flattened()));
        // Several at a time, since each waits for the one before.
        let mut low = [simd.splat_f32s(f32::INFINITY); 4];
        let mut high = [simd.splat_f32s(0.0); 4];
        let (fours, rest) = rows.as_chunks::<4>();
        for rows in fours {
            for ((low, high), row) in low.iter_mut().zip(&mut high).zip(rows) {
                *low = simd.min_f32s(*low, *row);
                *high = simd.max_f32s(*high, *row);
            }
        }
        for row in rest {
            low[0] = simd.min_f32s(low[0], *row);
            high[0] = simd.max_f32s(high[0], *row);
        }
        let low = simd.min_f32s(simd.min_f32s(low[0], low[1]), simd.min_f32s(low[2], low[3]));
        let high = simd.max_f32s(simd.max_f32s(high[0], high[1]), simd.max_f32s(high[2], high[3]));
        let low = simd.reduce_min_f32s(low).to_bits();
        let span = simd.reduce_max_f32s(high).to_bits().saturating_sub(low);
        // There are at most 32,767 products.
        let product = usize::BITS - keys.len().saturating_sub(1).leading_zeros();
        // Below the bits of infinity, all bits make positive numbers.
        let room = f32::INFINITY.to_bits() >> product;
        let cut = (0..u32::BITS).find(|cut| span >> cut < room).unwrap_or_default();
        Short { low, cut, product }
    }

    /// The short keys of a unit of products from `from` on, in as many draws as a vector has lanes.
    #[inline(always)]
    pub(super) fn unit<S: Simd>(
        self,
        simd: S,
        keys: &[Keys; UNIT],
        from: usize,
        lane: usize,
    ) -> [S::f32s; UNIT] {
        // There are at most 32,767 products.
        let mut product = simd.splat_u32s(u32::try_from(from).unwrap_or(u32::MAX));
        let mut unit = [simd.splat_f32s(0.0); UNIT];
        for (it, keys) in unit.iter_mut().zip(keys) {
            *it = self.one(simd, keys, product, lane);
            product = simd.add_u32s(product, simd.splat_u32s(1));
        }
        unit
    }

    /// The short keys of a product.
    #[inline(always)]
    pub(super) fn one<S: Simd>(
        self,
        simd: S,
        keys: &Keys,
        product: S::u32s,
        lane: usize,
    ) -> S::f32s {
        let key = S::as_simd_u32s(&keys[lane..]).0[0];
        let key = simd.sub_u32s(key, simd.splat_u32s(self.low));
        let key = simd.wrapping_dyn_shr_u32s(key, simd.splat_u32s(self.cut));
        let key = simd.wrapping_dyn_shl_u32s(key, simd.splat_u32s(self.product));
        simd.transmute_f32s_u32s(simd.or_u32s(key, product))
    }

    /// The products of short keys.
    #[inline(always)]
    pub(super) fn products<S: Simd>(self, keys: S::u32s, products: &mut [u16]) {
        let keys = [keys];
        let keys: &[u32] = cast_slice(&keys);
        for (product, key) in products.iter_mut().zip(keys) {
            #[expect(clippy::cast_possible_truncation, reason = "at most 15 bits are left")]
            let it = (key & ((1 << self.product) - 1)) as u16;
            *product = it;
        }
    }

    /// Whether keys that differ by this are alike but for the product.
    #[inline(always)]
    pub(super) fn is_alike(self, differ: u32) -> bool {
        differ >> self.product == 0
    }
}
