//! Maps of what a phone remembers: a few entries each, in the order of their keys.
//!
//! Lists under the hood: the standard library's trees are made for many more, and weighed
//! 90 kB on a phone, one for each type.

use std::fmt;
use std::marker::PhantomData;

use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde::ser::{Serialize, Serializer};

/// A map in the order of its keys.
pub type Map<K, V> = litemap::LiteMap<K, V>;

/// Writes it as a map of the format at hand: for `serde(with)`.
pub fn serialize<K: Serialize, V: Serialize, S: Serializer>(
    map: &Map<K, V>,
    to: S,
) -> Result<S::Ok, S::Error> {
    to.collect_map(map.iter())
}

/// Reads what [`serialize`] writes.
pub fn deserialize<'de, K, V, D>(from: D) -> Result<Map<K, V>, D::Error>
where
    K: Deserialize<'de> + Ord,
    V: Deserialize<'de>,
    D: Deserializer<'de>,
{
    struct Entries<K, V>(PhantomData<(K, V)>);

    impl<'de, K, V> Visitor<'de> for Entries<K, V>
    where
        K: Deserialize<'de> + Ord,
        V: Deserialize<'de>,
    {
        type Value = Map<K, V>;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("a map")
        }

        fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Map<K, V>, A::Error> {
            let mut map = Map::new_vec();
            while let Some((key, value)) = access.next_entry()? {
                map.insert(key, value);
            }
            Ok(map)
        }
    }

    from.deserialize_map(Entries(PhantomData))
}
