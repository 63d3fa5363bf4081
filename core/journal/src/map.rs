//! Maps and sets of what a phone remembers: a few entries each, in the order of their keys.
//!
//! Lists under the hood: the standard library's trees are made for many more, and weighed
//! more than 100 kB on a phone, some ten for each type.

use std::borrow::Borrow;

/// A map in the order of its keys.
pub type Map<K, V> = litemap::LiteMap<K, V>;

/// Entries as a map. One by one: to sort them first weighs 4 kB for each type.
pub fn map_of<K: Ord, V>(entries: impl IntoIterator<Item = (K, V)>) -> Map<K, V> {
    let mut map = Map::new_vec();
    for (key, value) in entries {
        map.insert(key, value);
    }
    map
}

/// A set in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Set<T>(Map<T, ()>);

impl<T> Default for Set<T> {
    fn default() -> Self {
        Set(Map::new_vec())
    }
}

impl<T: Ord> Set<T> {
    /// An empty one.
    pub fn new() -> Self {
        Set::default()
    }

    /// Puts an item in; whether it was not there.
    pub fn insert(&mut self, item: T) -> bool {
        self.0.insert(item, ()).is_none()
    }

    /// Takes an item out; whether it was there.
    pub fn remove<Q: Ord + ?Sized>(&mut self, item: &Q) -> bool
    where
        T: Borrow<Q>,
    {
        self.0.remove(item).is_some()
    }

    /// Whether an item is there.
    pub fn contains<Q: Ord + ?Sized>(&self, item: &Q) -> bool
    where
        T: Borrow<Q>,
    {
        self.0.contains_key(item)
    }

    /// Keeps those of which this holds.
    pub fn retain(&mut self, mut holds: impl FnMut(&T) -> bool) {
        self.0.retain(|item, ()| holds(item));
    }

    /// Empties it.
    pub fn clear(&mut self) {
        self.0.clear();
    }

    /// Whether nothing is there.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The items in order.
    pub fn iter(&self) -> impl Iterator<Item = &T> {
        self.0.iter().map(|(item, ())| item)
    }
}

impl<T: Ord> Extend<T> for Set<T> {
    fn extend<I: IntoIterator<Item = T>>(&mut self, items: I) {
        for item in items {
            self.insert(item);
        }
    }
}

impl<T: Ord> FromIterator<T> for Set<T> {
    fn from_iter<I: IntoIterator<Item = T>>(items: I) -> Self {
        let mut set = Set::new();
        set.extend(items);
        set
    }
}

impl<T> IntoIterator for Set<T> {
    type Item = T;
    type IntoIter = std::iter::Map<std::vec::IntoIter<(T, ())>, fn((T, ())) -> T>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter().map(|(item, ())| item)
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::Set;

    #[test]
    fn a_set_is_what_the_standard_librarys_is() {
        let mut random = fastrand::Rng::with_seed(11);
        let (mut ours, mut theirs) = (Set::new(), BTreeSet::new());
        for _ in 0..5_000 {
            let n = random.u8(..60);
            match random.u8(..3) {
                0 => assert_eq!(ours.insert(n), theirs.insert(n)),
                1 => assert_eq!(ours.remove(&n), theirs.remove(&n)),
                _ => assert_eq!(ours.contains(&n), theirs.contains(&n)),
            }
            assert_eq!(ours.is_empty(), theirs.is_empty());
        }
        ours.retain(|n| n % 3 == 0);
        theirs.retain(|n| n % 3 == 0);
        ours.extend([200, 7, 7]);
        theirs.extend([200, 7, 7]);
        assert!(ours.iter().eq(&theirs));
        let again: Set<u8> = theirs.iter().rev().copied().collect();
        assert_eq!(again, ours);
        assert!(ours.into_iter().eq(theirs));
    }
}
