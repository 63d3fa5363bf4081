//! The Merkle tree of RFC 9162 §2.1 over a table of its whole subtrees' roots. Phones
//! check what comes of it with another implementation (`ct-merkle`).

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};

use crate::db::{DbFault, Sql, Value};

type Hash = [u8; 32];

/// A tree of a known size.
pub(super) struct Tree {
    body: Value,
    size: u64,
    /// Nodes read or written, by level and place.
    nodes: BTreeMap<(u32, u64), Hash>,
}

fn leaf(data: &[u8]) -> Hash {
    Sha256::new()
        .chain_update([0])
        .chain_update(data)
        .finalize()
        .into()
}

fn parent(left: &Hash, right: &Hash) -> Hash {
    Sha256::new()
        .chain_update([1])
        .chain_update(left)
        .chain_update(right)
        .finalize()
        .into()
}

/// The largest power of two below `n`, which is at least 2.
fn split(n: u64) -> u64 {
    1 << (63 - (n - 1).leading_zeros())
}

impl Tree {
    /// The tree of this body at this size.
    pub fn new(body: Value, size: u64) -> Self {
        Tree {
            body,
            size,
            nodes: BTreeMap::new(),
        }
    }

    /// How many leaves it has.
    pub fn size(&self) -> u64 {
        self.size
    }

    fn node(&mut self, sql: &mut dyn Sql, level: u32, nth: u64) -> Result<Hash, DbFault> {
        if let Some(known) = self.nodes.get(&(level, nth)) {
            return Ok(*known);
        }
        let row = sql.one(
            "SELECT hash FROM log_nodes WHERE body = $1 AND level = $2 AND nth = $3",
            &[self.body.clone(), i64::from(level).into(), nth.into()],
        )?;
        let row = row.ok_or_else(|| DbFault::Unexpected("a node of the log is missing".into()))?;
        let hash = row.array(0)?;
        self.nodes.insert((level, nth), hash);
        Ok(hash)
    }

    fn put(&mut self, sql: &mut dyn Sql, level: u32, nth: u64, hash: Hash) -> Result<(), DbFault> {
        sql.execute(
            "INSERT INTO log_nodes (body, level, nth, hash) VALUES ($1, $2, $3, $4)",
            &[
                self.body.clone(),
                i64::from(level).into(),
                nth.into(),
                hash.into(),
            ],
        )?;
        self.nodes.insert((level, nth), hash);
        Ok(())
    }

    /// Adds a leaf; its index.
    pub fn append(&mut self, sql: &mut dyn Sql, data: &[u8]) -> Result<u64, DbFault> {
        let index = self.size;
        let (mut level, mut nth, mut hash) = (0, index, leaf(data));
        self.put(sql, level, nth, hash)?;
        // A right child completes its parent.
        while nth % 2 == 1 {
            let left = self.node(sql, level, nth - 1)?;
            hash = parent(&left, &hash);
            (level, nth) = (level + 1, nth / 2);
            self.put(sql, level, nth, hash)?;
        }
        self.size += 1;
        Ok(index)
    }

    /// The root: MTH(D_n).
    pub fn root(&mut self, sql: &mut dyn Sql) -> Result<Hash, DbFault> {
        match self.size {
            // The hash of an empty string, as the RFC has it.
            0 => Ok(Sha256::digest([]).into()),
            n => self.range(sql, 0, n),
        }
    }

    /// MTH(D[start : start + n]); `start` is a multiple of the power of two that is
    /// `n` or the next above it.
    fn range(&mut self, sql: &mut dyn Sql, start: u64, n: u64) -> Result<Hash, DbFault> {
        if n.is_power_of_two() {
            let level = n.trailing_zeros();
            return self.node(sql, level, start >> level);
        }
        let k = split(n);
        let left = self.range(sql, start, k)?;
        let right = self.range(sql, start + k, n - k)?;
        Ok(parent(&left, &right))
    }

    /// PATH(m, D_n) (RFC 9162 §2.1.3.1).
    pub fn inclusion(&mut self, sql: &mut dyn Sql, m: u64) -> Result<Vec<Hash>, DbFault> {
        let (mut start, mut n, mut m) = (0, self.size, m);
        let mut down = Vec::new();
        while n > 1 {
            let k = split(n);
            if m < k {
                down.push(self.range(sql, start + k, n - k)?);
                n = k;
            } else {
                down.push(self.range(sql, start, k)?);
                (start, n, m) = (start + k, n - k, m - k);
            }
        }
        down.reverse();
        Ok(down)
    }

    /// PROOF(m, D_n) for 0 < m < n (RFC 9162 §2.1.4.1).
    pub fn consistency(&mut self, sql: &mut dyn Sql, m: u64) -> Result<Vec<Hash>, DbFault> {
        let (mut start, mut n, mut m, mut whole) = (0, self.size, m, true);
        let mut down = Vec::new();
        while m < n {
            let k = split(n);
            if m <= k {
                down.push(self.range(sql, start + k, n - k)?);
                n = k;
            } else {
                down.push(self.range(sql, start, k)?);
                (start, n, m, whole) = (start + k, n - k, m - k, false);
            }
        }
        if !whole {
            down.push(self.range(sql, start, n)?);
        }
        down.reverse();
        Ok(down)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::db::{self, Engine, SqliteDb};

    /// The tree of the Certificate Transparency project's reference tests (leaves and
    /// roots as in its merkle tree test, from memory; RFC 9162 §2.1.5 has the shape).
    const LEAVES: [&str; 8] = [
        "",
        "00",
        "10",
        "2021",
        "3031",
        "40414243",
        "5051525354555657",
        "606162636465666768696a6b6c6d6e6f",
    ];
    const ROOTS: [&str; 8] = [
        "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
        "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
        "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
        "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
        "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
        "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
        "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
    ];

    #[test]
    fn the_reference_tree_has_the_reference_roots_and_proofs() {
        let db = SqliteDb::in_memory().expect("a database");
        db::write(&db as &dyn Engine, |sql| {
            let mut tree = Tree::new("larkmere".into(), 0);
            assert_eq!(
                hex::encode(tree.root(sql)?),
                "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
            );
            for (n, (data, root)) in LEAVES.iter().zip(ROOTS).enumerate() {
                let index = tree.append(sql, &hex::decode(data).expect("hexadecimal"))?;
                assert_eq!(index, n as u64);
                assert_eq!(hex::encode(tree.root(sql)?), root);
            }
            // The proof from 6 to 8 leaves in the same tests.
            let proof: Vec<_> = tree.consistency(sql, 6)?.iter().map(hex::encode).collect();
            assert_eq!(
                proof,
                [
                    "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
                    "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
                    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
                ]
            );
            Ok(())
        })
        .expect("written");
    }
}
