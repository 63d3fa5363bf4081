//! Lists put in order by one sort for them all. The standard library's is compiled anew for each
//! type, at some four kilobytes a time, and what goes onto a phone has a limit (`core.size`).

use std::cmp::Ordering;

/// Puts `items` in rising order; what is equal stays as it was.
pub fn sort<T: Ord>(items: &mut [T]) {
    sort_by(items, T::cmp);
}

/// Puts `items` in rising order of `key`; what is equal stays as it was.
pub fn sort_by_key<T, K: Ord>(items: &mut [T], key: impl Fn(&T) -> K) {
    sort_by(items, |a, b| key(a).cmp(&key(b)));
}

/// Puts `items` in rising order by `compare`; what is equal stays as it was.
pub fn sort_by<T>(items: &mut [T], compare: impl Fn(&T, &T) -> Ordering) {
    let mut from = places(items.len(), &|a, b| compare(&items[a], &items[b]));
    // Where item `from[n]` belongs is n. Each round of places that depend on each other is gone
    // through once.
    for first in 0..items.len() {
        let mut at = first;
        while from[at] != first {
            let next = from[at];
            items.swap(at, next);
            from[at] = at;
            at = next;
        }
        from[at] = at;
    }
}

/// The places of a list of `len` in the order of what stands there.
fn places(len: usize, compare: &dyn Fn(usize, usize) -> Ordering) -> Vec<usize> {
    let mut all: Vec<usize> = (0..len).collect();
    all.sort_by(|a, b| compare(*a, *b));
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn as_the_standard_library_has_it(list in prop::collection::vec((0u8..20, any::<u16>()), 0..200)) {
            let (mut ours, mut theirs) = (list.clone(), list.clone());
            sort_by_key(&mut ours, |item| item.0);
            theirs.sort_by_key(|item| item.0);
            prop_assert_eq!(&ours, &theirs);
            sort(&mut ours);
            theirs.sort();
            prop_assert_eq!(ours, theirs);
        }
    }
}
