//! How the state is put away as bytes, and taken up again: for speed alone, by the very
//! version that put it away. Nothing here is a record, and no other program reads it.
//!
//! Each struct has its list of fields beside it ([`put!`](macro@put)); one that is
//! forgotten there does not compile. A library's derived readers would do the same: of a
//! text form they weighed ten times as much, and the journal's own records have none.
//!
//! Here is how it goes; the files of this folder say it for what other crates have.

mod journal;
mod lists;
mod measuring;
mod office;
mod own;
mod values;

use std::sync::Arc;

use crate::roster::Loaded;

pub(crate) use self::lists::{Item, items};
use self::values::put_bytes;

/// What has been put away so far.
#[derive(Default)]
pub(crate) struct Out {
    pub(crate) bytes: Vec<u8>,
    /// Rosters that were met on the way: each is put away once.
    pub(crate) rosters: Vec<Arc<Loaded>>,
}

/// What is still to be taken up.
#[derive(Default)]
pub(crate) struct In<'a> {
    pub(crate) bytes: &'a [u8],
    /// Something was not what it should be: nobody may use what was taken up.
    pub(crate) wrong: bool,
    /// The rosters, by their place.
    pub(crate) rosters: Vec<Arc<Loaded>>,
}

impl<'a> In<'a> {
    #[inline(never)]
    fn some(&mut self, count: usize) -> &'a [u8] {
        let split = self.bytes.split_at_checked(count);
        self.wrong |= split.is_none();
        let (some, rest) = split.unwrap_or_default();
        self.bytes = rest;
        some
    }

    /// What was read, or something that nobody may use.
    pub(crate) fn good<T: Default>(&mut self, read: Option<T>) -> T {
        self.wrong |= read.is_none();
        read.unwrap_or_default()
    }
}

/// What can be put away. What stands in many lists is not copied into each of them: that
/// weighed 20 kB on a phone.
pub(crate) trait Put: Sized {
    /// Puts it away.
    fn put(&self, to: &mut Out);

    /// Takes it up again. Where the bytes are not those of one, `wrong` is set and something
    /// is given that nobody may use: to go back from each field would weigh as much again.
    fn take(from: &mut In<'_>) -> Self;
}

/// The list of a struct's fields.
macro_rules! put {
    ($kind:ident { $($field:ident),* $(,)? }) => {
        impl $crate::state::put::Put for $kind {
            fn put(&self, to: &mut $crate::state::put::Out) {
                let $kind { $($field),* } = self;
                $( $crate::state::put::Put::put($field, to); )*
            }

            fn take(from: &mut $crate::state::put::In<'_>) -> Self {
                $kind { $($field: $crate::state::put::Put::take(from)),* }
            }
        }
    };
}
pub(crate) use put;

/// The list of an enum's names, each with its number and what it holds. The first one is
/// given where something is wrong.
macro_rules! put_one_of {
    ($kind:ident {
        $number0:literal $name0:ident $(($($held0:ident),*))?
        $(, $number:literal $name:ident $(($($held:ident),*))?)* $(,)?
    }) => {
        impl $crate::state::put::Put for $kind {
            fn put(&self, to: &mut $crate::state::put::Out) {
                match self {
                    $kind::$name0 $(($($held0),*))? => {
                        to.bytes.push($number0);
                        $( $( $crate::state::put::Put::put($held0, to); )* )?
                    }
                    $( $kind::$name $(($($held),*))? => {
                        to.bytes.push($number);
                        $( $( $crate::state::put::Put::put($held, to); )* )?
                    } )*
                }
            }

            fn take(from: &mut $crate::state::put::In<'_>) -> Self {
                match <u8 as $crate::state::put::Put>::take(from) {
                    $( $number => $kind::$name
                        $(($($crate::state::put::named(stringify!($held), from)),*))?, )*
                    other => {
                        from.wrong |= other != $number0;
                        $kind::$name0
                            $(($($crate::state::put::named(stringify!($held0), from)),*))?
                    }
                }
            }
        }
    };
}
pub(crate) use put_one_of;

/// Takes up what has this name in a list.
pub(crate) fn named<T: Put>(_: &str, from: &mut In<'_>) -> T {
    T::take(from)
}
