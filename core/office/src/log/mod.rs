//! The office's signed log: every frame in the record gets a place in a Merkle tree
//! (RFC 9162 §2.1) whose root the office signs. Phones keep the newest checkpoint and
//! ask for proofs, so that this office cannot change its history unseen either.

mod tree;

use standsquare_sync::log::{Ask, Bundle, Checkpoint, InLog, origin};

use crate::db::{self, DbFault, Sql};
use crate::state::OfficeState;
use tree::Tree;

/// Most frames that get their places in one transaction.
const AT_A_TIME: i64 = 1_000;

impl OfficeState {
    /// Gives frames of the record that have none yet their places in the log, at most
    /// a thousand; how many. Call it until it gives 0.
    ///
    /// # Errors
    /// [`DbFault`]; nothing is logged then.
    pub fn extend_log(&self) -> Result<usize, DbFault> {
        db::write(self.engine(), |sql| {
            let rows = sql.query(
                "SELECT year, id FROM frames
                 WHERE body = $1 AND state = 1 AND log_index IS NULL
                 ORDER BY received_ms, id LIMIT $2",
                &[self.body(), AT_A_TIME.into()],
            )?;
            if rows.is_empty() {
                return Ok(0);
            }
            let mut tree = Tree::new(self.body(), size(self, sql)?);
            for row in &rows {
                let index = tree.append(sql, &row.array::<32>(1)?)?;
                sql.execute(
                    "UPDATE frames SET log_index = $4
                     WHERE body = $1 AND year = $2 AND id = $3",
                    &[
                        self.body(),
                        row.0[0].clone(),
                        row.0[1].clone(),
                        index.into(),
                    ],
                )?;
            }
            sql.execute(
                "INSERT INTO log_size (body, size) VALUES ($1, $2)
                 ON CONFLICT (body) DO UPDATE SET size = excluded.size",
                &[self.body(), tree.size().into()],
            )?;
            Ok(rows.len())
        })
    }

    /// The present checkpoint.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn checkpoint(&self) -> Result<Checkpoint, DbFault> {
        db::read(self.engine(), |sql| checkpoint(self, sql))
    }

    /// The present checkpoint as a signed note.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn signed_checkpoint(&self) -> Result<String, DbFault> {
        Ok(self.checkpoint()?.sign(self.key()))
    }

    /// Answers a question to the log. A size that the log never had gets no proof:
    /// whoever claims to have seen it has seen another log.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn ask_log(&self, ask: &Ask) -> Result<Bundle, DbFault> {
        db::read(self.engine(), |sql| {
            let now = checkpoint(self, sql)?;
            let mut tree = Tree::new(self.body(), now.size);
            let consistency = match ask.seen {
                0 => Vec::new(),
                seen if seen < now.size => tree.consistency(sql, seen)?,
                _ => Vec::new(),
            };
            let mut frames = Vec::new();
            for frame in &ask.frames {
                let row = sql.one(
                    "SELECT log_index FROM frames WHERE body = $1 AND id = $2",
                    &[self.body(), (*frame).into()],
                )?;
                let index = row.map_or(Ok(None), |row| row.maybe_int(0))?;
                if let Some(index) = index {
                    let index = index as u64;
                    let path = tree.inclusion(sql, index)?;
                    frames.push(InLog {
                        frame: *frame,
                        index,
                        path,
                    });
                }
            }
            Ok(Bundle {
                checkpoint: now.sign(self.key()),
                consistency,
                frames,
            })
        })
    }
}

fn size(office: &OfficeState, sql: &mut dyn Sql) -> Result<u64, DbFault> {
    let row = sql.one(
        "SELECT size FROM log_size WHERE body = $1",
        &[office.body()],
    )?;
    Ok(row.map_or(Ok(0), |row| row.int(0))? as u64)
}

fn checkpoint(office: &OfficeState, sql: &mut dyn Sql) -> Result<Checkpoint, DbFault> {
    let size = size(office, sql)?;
    let root = Tree::new(office.body(), size).root(sql)?;
    Ok(Checkpoint {
        origin: origin(&office.roster().league.id),
        size,
        root,
    })
}
