//! What only tests ask of a journal.

use super::{Journal, StoreFault};

impl Journal {
    /// Syncs less than it must: for the control of the crash tests.
    #[doc(hidden)]
    pub fn weaken_for_test(&mut self) -> Result<(), StoreFault> {
        Ok(self.db.pragma_update(None, "synchronous", "NORMAL")?)
    }

    /// How many pages the file has: for tests of a full disk.
    #[doc(hidden)]
    pub fn pages_for_test(&self) -> Result<i64, StoreFault> {
        Ok(self
            .db
            .pragma_query_value(None, "page_count", |row| row.get(0))?)
    }

    /// Lets the file grow to so many pages only: for tests of a full disk.
    #[doc(hidden)]
    pub fn limit_pages_for_test(&mut self, pages: i64) -> Result<(), StoreFault> {
        self.db
            .pragma_update_and_check(None, "max_page_count", pages, |_| Ok(()))?;
        Ok(())
    }

    /// Settings of the connection by name, as SQLite says them: for a test that holds
    /// them to what the design promises.
    #[doc(hidden)]
    pub fn setting_for_test(&self, name: &str) -> Result<String, StoreFault> {
        let value: rusqlite::types::Value =
            self.db.pragma_query_value(None, name, |row| row.get(0))?;
        Ok(match value {
            rusqlite::types::Value::Integer(n) => n.to_string(),
            rusqlite::types::Value::Text(text) => text,
            other => format!("{other:?}"),
        })
    }
}
