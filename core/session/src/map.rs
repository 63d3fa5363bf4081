//! How maps in order are written and read: for `serde(with)`.

use std::fmt;
use std::marker::PhantomData;

use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde::ser::{Serialize, Serializer};

pub use standsquare_journal::map::{Map, Set, map_of};

/// Writes it as a map of the format at hand.
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
