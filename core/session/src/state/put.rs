//! How the state is put away as bytes, and taken up again: for speed alone, by the very
//! version that put it away. Nothing here is a record, and no other program reads it.
//!
//! Each struct has its list of fields beside it ([`put!`](macro@put)); one that is
//! forgotten there does not compile. A library's derived readers would do the same: of a
//! text form they weighed ten times as much, and the journal's own records have none.

use std::sync::Arc;

use chrono::NaiveDate;
use minicbor::bytes::ByteArray;
use standsquare_journal::record::dogs::{Came, DogDone, Dogs};
use standsquare_journal::record::fact::{
    ChipProof, Correction, Found, Harm, List, Listed as OnList, Putting,
};
use standsquare_journal::record::fact::{Outcome, Seen, StatedPlacing, Statement, Whom};
use standsquare_journal::record::notice::KeyRing;
use standsquare_measuring::gauge::practice::{Answer, Drill, Plan, Task};
use standsquare_measuring::{GaugeId, Length, Plain};
use standsquare_sync::beside::{Paired, Told, ToldDog};
use standsquare_sync::roster::{
    Dog, EarlierMeasure, Hoop, League, OfficeCard, Person as Listed, Roster,
};

use crate::act::ReaderCarrier;
use crate::map::{Map, Set};
use crate::roster::Loaded;

/// Room made for items before they are seen: no memory for what is only claimed.
const AT_ONCE: u64 = 64;

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

impl Put for u8 {
    #[inline(never)]
    fn put(&self, to: &mut Out) {
        to.bytes.push(*self);
    }

    #[inline(never)]
    fn take(from: &mut In<'_>) -> Self {
        from.some(1).first().copied().unwrap_or_default()
    }
}

impl Put for bool {
    #[inline(never)]
    fn put(&self, to: &mut Out) {
        to.bytes.push(u8::from(*self));
    }

    #[inline(never)]
    fn take(from: &mut In<'_>) -> Self {
        u8::take(from) != 0
    }
}

/// Seven bits at a time, the lowest first.
impl Put for u64 {
    #[inline(never)]
    fn put(&self, to: &mut Out) {
        let mut left = *self;
        while left >= 0x80 {
            to.bytes.push(left as u8 | 0x80);
            left >>= 7;
        }
        to.bytes.push(left as u8);
    }

    #[inline(never)]
    fn take(from: &mut In<'_>) -> Self {
        let mut number = 0;
        for shift in (0..64).step_by(7) {
            let byte = u8::take(from);
            number |= u64::from(byte & 0x7f) << shift;
            if byte < 0x80 {
                return number;
            }
        }
        from.wrong = true;
        0
    }
}

/// The sign last, so that small numbers are short.
impl Put for i64 {
    #[inline(never)]
    fn put(&self, to: &mut Out) {
        (((self << 1) ^ (self >> 63)).cast_unsigned()).put(to);
    }

    #[inline(never)]
    fn take(from: &mut In<'_>) -> Self {
        let both = u64::take(from);
        (both >> 1).cast_signed() ^ -((both & 1).cast_signed())
    }
}

macro_rules! numbers {
    ($($small:ident as $large:ident),*) => { $(
        impl Put for $small {
            #[inline(never)]
            fn put(&self, to: &mut Out) {
                (*self as $large).put(to);
            }

            #[inline(never)]
            fn take(from: &mut In<'_>) -> Self {
                let read = $large::take(from).try_into().ok();
                from.good(read)
            }
        }
    )* };
}

numbers!(u32 as u64, usize as u64, i32 as i64);

#[inline(never)]
fn put_bytes(bytes: &[u8], to: &mut Out) {
    bytes.len().put(to);
    to.bytes.extend_from_slice(bytes);
}

#[inline(never)]
fn take_bytes(from: &mut In<'_>) -> Vec<u8> {
    let count = usize::take(from);
    from.some(count).to_vec()
}

impl Put for String {
    #[inline(never)]
    fn put(&self, to: &mut Out) {
        put_bytes(self.as_bytes(), to);
    }

    #[inline(never)]
    fn take(from: &mut In<'_>) -> Self {
        let read = String::from_utf8(take_bytes(from)).ok();
        from.good(read)
    }
}

impl<const N: usize> Put for [u8; N] {
    fn put(&self, to: &mut Out) {
        to.bytes.extend_from_slice(self);
    }

    fn take(from: &mut In<'_>) -> Self {
        // Too few were noted.
        from.some(N).try_into().unwrap_or([0; N])
    }
}

impl Put for Vec<u8> {
    fn put(&self, to: &mut Out) {
        put_bytes(self, to);
    }

    fn take(from: &mut In<'_>) -> Self {
        take_bytes(from)
    }
}

impl<T: Put> Put for Option<T> {
    #[inline(never)]
    fn put(&self, to: &mut Out) {
        self.is_some().put(to);
        if let Some(it) = self {
            it.put(to);
        }
    }

    #[inline(never)]
    fn take(from: &mut In<'_>) -> Self {
        bool::take(from).then(|| T::take(from))
    }
}

impl<T: Put> Put for Box<T> {
    fn put(&self, to: &mut Out) {
        T::put(self, to);
    }

    fn take(from: &mut In<'_>) -> Self {
        Box::new(T::take(from))
    }
}

impl<A: Put, B: Put> Put for (A, B) {
    fn put(&self, to: &mut Out) {
        self.0.put(to);
        self.1.put(to);
    }

    fn take(from: &mut In<'_>) -> Self {
        (A::take(from), B::take(from))
    }
}

impl<A: Put, B: Put, C: Put> Put for (A, B, C) {
    fn put(&self, to: &mut Out) {
        self.0.put(to);
        self.1.put(to);
        self.2.put(to);
    }

    fn take(from: &mut In<'_>) -> Self {
        (A::take(from), B::take(from), C::take(from))
    }
}

/// What there can be a list of: not bytes, which are put away as such.
pub(crate) trait Item: Put {}

macro_rules! items {
    ($($kind:ty),* $(,)?) => { $( impl $crate::state::put::Item for $kind {} )* };
}
pub(crate) use items;

items!(
    StatedPlacing,
    OnList,
    DogDone,
    ToldDog,
    Paired,
    Plain,
    u32,
    String,
    Vec<u8>,
    Dog,
    EarlierMeasure,
    Hoop,
    Listed,
    Answer,
    Task
);
impl<A: Put, B: Put> Item for (A, B) {}
impl<A: Put, B: Put, C: Put> Item for (A, B, C) {}
impl<T: Put> Item for Option<T> {}
impl<const N: usize> Item for [u8; N] {}
impl<const N: usize> Item for ByteArray<N> {}

impl<T: Item> Put for Vec<T> {
    #[inline(never)]
    fn put(&self, to: &mut Out) {
        self.len().put(to);
        for item in self {
            item.put(to);
        }
    }

    #[inline(never)]
    fn take(from: &mut In<'_>) -> Self {
        let count = u64::take(from);
        let mut items = Vec::with_capacity(count.min(AT_ONCE) as usize);
        for _ in 0..count {
            items.push(T::take(from));
            if from.wrong {
                break;
            }
        }
        items
    }
}

impl<K: Put + Ord, V: Put> Put for Map<K, V> {
    #[inline(never)]
    fn put(&self, to: &mut Out) {
        self.len().put(to);
        for (key, value) in self.iter() {
            key.put(to);
            value.put(to);
        }
    }

    #[inline(never)]
    fn take(from: &mut In<'_>) -> Self {
        let mut map = Map::new_vec();
        for _ in 0..u64::take(from) {
            map.insert(K::take(from), V::take(from));
            if from.wrong {
                break;
            }
        }
        map
    }
}

impl<T: Put + Ord> Put for Set<T> {
    #[inline(never)]
    fn put(&self, to: &mut Out) {
        self.iter().count().put(to);
        for item in self.iter() {
            item.put(to);
        }
    }

    #[inline(never)]
    fn take(from: &mut In<'_>) -> Self {
        let mut set = Set::new();
        for _ in 0..u64::take(from) {
            set.insert(T::take(from));
            if from.wrong {
                break;
            }
        }
        set
    }
}

impl Put for Arc<Loaded> {
    fn put(&self, to: &mut Out) {
        let known = to.rosters.iter().position(|l| l.hash == self.hash);
        known.unwrap_or(to.rosters.len()).put(to);
        if known.is_none() {
            to.rosters.push(self.clone());
        }
    }

    fn take(from: &mut In<'_>) -> Self {
        let place = usize::take(from);
        let found = from.rosters.get(place).cloned();
        from.wrong |= found.is_none();
        // Of no bytes at all comes a roster that nobody may use.
        found.unwrap_or_else(|| Arc::new(<Loaded as Put>::take(&mut In::default())))
    }
}

/// It is made again of the notices, which are put away.
impl Put for KeyRing {
    fn put(&self, _: &mut Out) {}

    fn take(_: &mut In<'_>) -> Self {
        KeyRing::default()
    }
}

impl Put for NaiveDate {
    fn put(&self, to: &mut Out) {
        crate::days::number(*self).put(to);
    }

    fn take(from: &mut In<'_>) -> Self {
        crate::days::date(i32::take(from))
    }
}

impl<const N: usize> Put for ByteArray<N> {
    fn put(&self, to: &mut Out) {
        (**self).put(to);
    }

    fn take(from: &mut In<'_>) -> Self {
        <[u8; N]>::take(from).into()
    }
}

impl Put for Outcome {
    fn put(&self, to: &mut Out) {
        let (kind, words) = match self {
            Outcome::Category { id, label } => (0, (id, label.as_str())),
            Outcome::NotToday { reason } => (1, (reason, "")),
            Outcome::Referred { reason } => (2, (reason, "")),
        };
        to.bytes.push(kind);
        words.0.put(to);
        put_bytes(words.1.as_bytes(), to);
    }

    fn take(from: &mut In<'_>) -> Self {
        let (kind, id, label) = <(u8, String, String)>::take(from);
        match kind {
            0 => Outcome::Category { id, label },
            1 => Outcome::NotToday { reason: id },
            other => {
                from.wrong |= other != 2;
                Outcome::Referred { reason: id }
            }
        }
    }
}

impl Put for Putting {
    fn put(&self, to: &mut Out) {
        match self {
            Putting::VoidPlacing { number } => (1_u8, *number).put(to),
            Putting::PapersAgain {} => 0_u8.put(to),
            Putting::MovePlacings {
                visit,
                dog,
                chip,
                placings,
            } => {
                (2_u8, *visit).put(to);
                dog.put(to);
                chip.put(to);
                placings.put(to);
            }
        }
    }

    fn take(from: &mut In<'_>) -> Self {
        match u8::take(from) {
            1 => Putting::VoidPlacing {
                number: Put::take(from),
            },
            2 => Putting::MovePlacings {
                visit: Put::take(from),
                dog: Put::take(from),
                chip: Put::take(from),
                placings: Put::take(from),
            },
            other => {
                from.wrong |= other != 0;
                Putting::PapersAgain {}
            }
        }
    }
}

put!(Correction {
    session,
    visit,
    dog,
    chip,
    what,
    placing,
    reason,
    after_sign_off,
    measurers,
    demo,
});
put!(OnList {
    visit,
    dog,
    chip,
    outcome,
    statement,
    by,
});
put!(List {
    session,
    dogs,
    demo
});
put!(DogDone {
    mark,
    came,
    ago_min
});
put!(Dogs {
    league,
    session,
    journal,
    seq,
    at_ms,
    salt,
    categories,
    dogs,
    demo,
});
put!(ToldDog {
    device_key,
    journal,
    visit,
    chip,
    came,
    statement,
    settles,
});
put!(Paired {
    device_key,
    journal
});
put!(Told {
    office_key,
    session,
    at_ms,
    phones,
    dogs,
    forked,
});

impl Put for Length {
    fn put(&self, to: &mut Out) {
        self.nm().put(to);
    }

    fn take(from: &mut In<'_>) -> Self {
        Length::from_nm(Put::take(from))
    }
}

impl Put for GaugeId {
    fn put(&self, to: &mut Out) {
        put_bytes(self.as_str().as_bytes(), to);
    }

    fn take(from: &mut In<'_>) -> Self {
        String::take(from).into()
    }
}

put!(Plan {
    gauge,
    placings,
    reach,
    step
});
put!(Task { height });
put!(Drill {
    plan,
    seed,
    tasks,
    hoop
});

put_one_of!(ReaderCarrier { 0 Ble, 1 Serial, 2 Keys });
put_one_of!(Seen { 0 Flat, 1 NotFlat, 2 Moved, 3 FlatVoid, 4 NotFlatVoid });
put_one_of!(ChipProof {
    0 Equal,
    1 MisKeyed,
    2 Typed,
    3 NotFound,
    4 Different,
    5 NotScanned,
    6 OtherForm,
    7 TwoChips,
});
put_one_of!(Found { 0 Agrees, 1 Differs, 2 Missing });
put_one_of!(Came { 0 Untold, 1 NotToday, 2 Referred, 3 Category(id) });
put_one_of!(Harm { 0 Bite, 1 Fall });
put_one_of!(Whom { 0 Measurer, 1 Handler, 2 Dog, 3 Other });
put_one_of!(Answer { 0 Flat, 1 NotFlat, 2 Void });

put_one_of!(Plain { 0 Text(text), 1 Number(number), 2 Yes(yes), 3 List(items), 4 Table(fields), 5 Other });

put!(StatedPlacing { hoop, seen });
put!(Statement {
    session,
    visit,
    dog,
    chip,
    proof,
    chip_read,
    pack,
    edition,
    day,
    outcome,
    over_um,
    within_um,
    measure,
    status,
    flags,
    placings,
    window_from,
    window_to,
    measurers,
    status_until,
    demo,
});

put!(League { id, name });
put!(OfficeCard { name, key, phones });
put!(Listed {
    id,
    name,
    number,
    role
});
put!(Hoop {
    id,
    gauge,
    serial,
    checked
});
put!(EarlierMeasure {
    day,
    category,
    measure
});
put!(Dog {
    id,
    name,
    handler,
    chip,
    born,
    earlier,
    household_of
});
put!(Roster {
    format,
    demo,
    league,
    office,
    pack,
    venues,
    people,
    hoops,
    dogs
});
