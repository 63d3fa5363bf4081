//! Values as both engines know them.

use super::DbFault;

/// A value of a column or a parameter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Value {
    /// Nothing.
    Null,
    /// A whole number.
    Int(i64),
    /// Text.
    Text(String),
    /// Bytes.
    Bytes(Vec<u8>),
}

impl From<i64> for Value {
    fn from(n: i64) -> Self {
        Value::Int(n)
    }
}

impl From<u64> for Value {
    /// Numbers beyond the signed range do not occur: frames with them are refused.
    fn from(n: u64) -> Self {
        Value::Int(i64::try_from(n).unwrap_or(i64::MAX))
    }
}

impl From<bool> for Value {
    fn from(yes: bool) -> Self {
        Value::Int(yes.into())
    }
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        text.to_owned().into()
    }
}

impl From<String> for Value {
    /// PostgreSQL's text holds no U+0000. Nobody means one, but a phone may have signed it:
    /// it is the replacement character in the tables then, on every engine, and as it was
    /// signed in the frame.
    fn from(text: String) -> Self {
        Value::Text(match text.contains('\0') {
            true => text.replace('\0', "\u{fffd}"),
            false => text,
        })
    }
}

impl From<&[u8]> for Value {
    fn from(bytes: &[u8]) -> Self {
        Value::Bytes(bytes.to_vec())
    }
}

impl<const N: usize> From<[u8; N]> for Value {
    fn from(bytes: [u8; N]) -> Self {
        Value::Bytes(bytes.to_vec())
    }
}

impl<T: Into<Value>> From<Option<T>> for Value {
    fn from(value: Option<T>) -> Self {
        value.map_or(Value::Null, Into::into)
    }
}

/// A row of an answer; columns are asked for by their place.
#[derive(Clone, Debug)]
pub struct Row(pub Vec<Value>);

impl Row {
    fn at(&self, column: usize) -> Result<&Value, DbFault> {
        self.0
            .get(column)
            .ok_or_else(|| DbFault::Unexpected(format!("no column {column}")))
    }

    fn wrong<T>(&self, column: usize, wanted: &str) -> Result<T, DbFault> {
        Err(DbFault::Unexpected(format!(
            "column {column} is not {wanted}"
        )))
    }

    /// A number.
    ///
    /// # Errors
    /// [`DbFault::Unexpected`] if it is none.
    pub fn int(&self, column: usize) -> Result<i64, DbFault> {
        match self.at(column)? {
            Value::Int(n) => Ok(*n),
            _ => self.wrong(column, "a number"),
        }
    }

    /// A number, or nothing.
    ///
    /// # Errors
    /// [`DbFault::Unexpected`] if it is something else.
    pub fn maybe_int(&self, column: usize) -> Result<Option<i64>, DbFault> {
        match self.at(column)? {
            Value::Null => Ok(None),
            _ => self.int(column).map(Some),
        }
    }

    /// Text.
    ///
    /// # Errors
    /// [`DbFault::Unexpected`] if it is none.
    pub fn text(&self, column: usize) -> Result<String, DbFault> {
        match self.at(column)? {
            Value::Text(text) => Ok(text.clone()),
            _ => self.wrong(column, "text"),
        }
    }

    /// Text, or nothing.
    ///
    /// # Errors
    /// [`DbFault::Unexpected`] if it is something else.
    pub fn maybe_text(&self, column: usize) -> Result<Option<String>, DbFault> {
        match self.at(column)? {
            Value::Null => Ok(None),
            _ => self.text(column).map(Some),
        }
    }

    /// Bytes.
    ///
    /// # Errors
    /// [`DbFault::Unexpected`] if it is none.
    pub fn bytes(&self, column: usize) -> Result<Vec<u8>, DbFault> {
        match self.at(column)? {
            Value::Bytes(bytes) => Ok(bytes.clone()),
            _ => self.wrong(column, "bytes"),
        }
    }

    /// Exactly `N` bytes: an id, a key, a hash.
    ///
    /// # Errors
    /// [`DbFault::Unexpected`] if it is something else.
    pub fn array<const N: usize>(&self, column: usize) -> Result<[u8; N], DbFault> {
        let bytes = self.bytes(column)?;
        bytes
            .try_into()
            .or_else(|_| self.wrong(column, "bytes of the right number"))
    }

    /// Exactly `N` bytes, or nothing.
    ///
    /// # Errors
    /// [`DbFault::Unexpected`] if it is something else.
    pub fn maybe_array<const N: usize>(&self, column: usize) -> Result<Option<[u8; N]>, DbFault> {
        match self.at(column)? {
            Value::Null => Ok(None),
            _ => self.array(column).map(Some),
        }
    }
}
