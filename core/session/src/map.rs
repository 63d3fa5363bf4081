//! How maps in order are written: for `serde(serialize_with)`.

use serde::ser::{Serialize, Serializer};

pub use standsquare_journal::map::{Map, Set, map_of};

/// Writes it as a map of the format at hand.
pub fn serialize<K: Serialize, V: Serialize, S: Serializer>(
    map: &Map<K, V>,
    to: S,
) -> Result<S::Ok, S::Error> {
    to.collect_map(map.iter())
}
