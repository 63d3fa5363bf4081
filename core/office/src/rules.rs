//! The rules that the office itself judges by: those in force on the day of what is judged.

use std::sync::{Arc, PoisonError};

use standsquare_measuring::RulePack;

use crate::db::{self, DbFault, Sql};
use crate::packs::{Published, packs};
use crate::state::OfficeState;

/// The roster's own pack, and every pack that was published since.
pub struct Rules {
    own: Arc<RulePack>,
    /// From which day on, days since 1970-01-01, and the pack; the newest published first.
    published: Vec<(i32, RulePack)>,
    /// Number of the newest published one; 0 without any.
    newest: i64,
}

impl Rules {
    /// The roster's alone.
    pub(crate) fn of_roster(pack: RulePack) -> Self {
        Rules {
            own: Arc::new(pack),
            published: Vec::new(),
            newest: 0,
        }
    }

    /// What is in force on this day, days since 1970-01-01.
    pub fn on(&self, day: i32) -> &RulePack {
        let in_force = self.published.iter().filter(|(from, _)| *from <= day);
        // Of two for the same day the newer one counts: it stands first.
        in_force
            .reduce(|best, one| if one.0 > best.0 { one } else { best })
            .map_or(&self.own, |(_, pack)| pack)
    }
}

impl OfficeState {
    /// The rules, as they stand now.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn rules(&self) -> Result<Arc<Rules>, DbFault> {
        db::read(self.engine(), |sql| {
            let newest = sql.one("SELECT MAX(nth) FROM packs WHERE body = $1", &[self.body()])?;
            let newest = newest.map_or(Ok(None), |row| row.maybe_int(0))?;
            self.rules_up_to(sql, newest.unwrap_or(0))
        })
    }

    /// The same, where it is known already how many packs were published. They are read once:
    /// nothing changes a published pack.
    pub(crate) fn rules_up_to(
        &self,
        sql: &mut dyn Sql,
        newest: i64,
    ) -> Result<Arc<Rules>, DbFault> {
        let known = || {
            self.known_rules()
                .lock()
                .unwrap_or_else(PoisonError::into_inner)
        };
        let rules = known().clone();
        if rules.newest == newest {
            return Ok(rules);
        }
        let published = packs(self, sql)?;
        let newest = published.first().map_or(0, |p| p.nth);
        let read = |p: Published| {
            RulePack::parse(&p.text)
                .map(|pack| (p.from_day, pack))
                .map_err(|_| DbFault::Unexpected(format!("rules no. {} can't be read", p.nth)))
        };
        let rules = Arc::new(Rules {
            own: rules.own.clone(),
            published: published.into_iter().map(read).collect::<Result<_, _>>()?,
            newest,
        });
        *known() = rules.clone();
        Ok(rules)
    }
}
