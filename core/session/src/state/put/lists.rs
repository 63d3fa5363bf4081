//! Lists, and the maps and sets that are lists in order.

use minicbor::bytes::ByteArray;

use super::{In, Out, Put};
use crate::map::{Map, Set};

/// Room made for items before they are seen: no memory for what is only claimed.
const AT_ONCE: u64 = 64;

/// What there can be a list of: not bytes, which are put away as such.
pub(crate) trait Item: Put {}

macro_rules! items {
    ($($kind:ty),* $(,)?) => { $( impl $crate::state::put::Item for $kind {} )* };
}
pub(crate) use items;

items!(u32, String, Vec<u8>);
impl<A: Put, B: Put> Item for (A, B) {}
impl<A: Put, B: Put, C: Put> Item for (A, B, C) {}
impl<T: Put> Item for Option<T> {}
impl<const N: usize> Item for [u8; N] {}
impl<const N: usize> Item for ByteArray<N> {}

impl<T: Item> Put for Vec<T> {
    #[inline(never)]
    fn put(&self, to: &mut Out) {
        self.len().put(to);
        for item in self {
            item.put(to);
        }
    }

    #[inline(never)]
    fn take(from: &mut In<'_>) -> Self {
        let count = u64::take(from);
        let mut items = Vec::with_capacity(count.min(AT_ONCE) as usize);
        for _ in 0..count {
            items.push(T::take(from));
            if from.wrong {
                break;
            }
        }
        items
    }
}

impl<K: Put + Ord, V: Put> Put for Map<K, V> {
    #[inline(never)]
    fn put(&self, to: &mut Out) {
        self.len().put(to);
        for (key, value) in self.iter() {
            key.put(to);
            value.put(to);
        }
    }

    #[inline(never)]
    fn take(from: &mut In<'_>) -> Self {
        let mut map = Map::new_vec();
        for _ in 0..u64::take(from) {
            map.insert(K::take(from), V::take(from));
            if from.wrong {
                break;
            }
        }
        map
    }
}

impl<T: Put + Ord> Put for Set<T> {
    #[inline(never)]
    fn put(&self, to: &mut Out) {
        self.iter().count().put(to);
        for item in self.iter() {
            item.put(to);
        }
    }

    #[inline(never)]
    fn take(from: &mut In<'_>) -> Self {
        let mut set = Set::new();
        for _ in 0..u64::take(from) {
            set.insert(T::take(from));
            if from.wrong {
                break;
            }
        }
        set
    }
}
