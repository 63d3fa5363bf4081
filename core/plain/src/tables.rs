//! The three kinds of table.

/// [`minicbor::Decode`] by way of the table.
#[doc(hidden)]
#[macro_export]
macro_rules! decoded {
    ($kind:ident) => {
        impl<'b, C> $crate::minicbor::Decode<'b, C> for $kind {
            fn decode(
                decoder: &mut $crate::minicbor::Decoder<'b>,
                _: &mut C,
            ) -> Result<Self, $crate::minicbor::decode::Error> {
                $crate::decode(decoder)
            }
        }
    };
}

/// The table of a record: its fields in the order of their numbers.
///
/// ```
/// struct Hoop {
///     id: String,
///     step_um: u64,
/// }
/// standsquare_plain::record!(Hoop { id, step_um });
///
/// let hoop: Hoop = minicbor::decode(b"\x82\x62H2\x0a").expect("two fields");
/// assert_eq!((hoop.id.as_str(), hoop.step_um), ("H2", 10));
/// assert!(minicbor::decode::<Hoop>(b"\x81\x62H2").is_err(), "one is missing");
/// ```
#[macro_export]
macro_rules! record {
    ($kind:ident { $($field:ident),* $(,)? }) => {
        impl $crate::Take for $kind {
            fn take(value: $crate::Value, wrong: &mut bool) -> Self {
                let mut fields = $crate::Fields::of(value);
                let read = $kind { $($field: fields.take()),* };
                fields.end(wrong);
                read
            }
        }
        $crate::decoded!($kind);
    };
}

/// The table of what is one of several records: each one's number, its name, its fields in
/// the order of theirs. The first one is given where something is wrong.
///
/// ```
/// enum Says {
///     Seen { visit: u32 },
///     Gone {},
/// }
/// standsquare_plain::tagged!(Says {
///     0 Seen { visit }
///     1 Gone {}
/// });
///
/// let seen: Says = minicbor::decode(b"\x82\x00\x81\x07").expect("a number and a list");
/// assert!(matches!(seen, Says::Seen { visit: 7 }));
/// assert!(matches!(minicbor::decode(b"\x82\x01\x80"), Ok(Says::Gone {})));
/// assert!(minicbor::decode::<Says>(b"\x82\x02\x80").is_err(), "there is no 2");
/// ```
#[macro_export]
macro_rules! tagged {
    ($kind:ident {
        $first:literal $name0:ident { $($field0:ident),* }
        $($tag:literal $name:ident { $($field:ident),* })*
    }) => {
        impl $crate::Take for $kind {
            fn take(value: $crate::Value, wrong: &mut bool) -> Self {
                let (tag, mut fields) = $crate::Fields::tagged(value);
                let read = match tag {
                    $($tag => $kind::$name { $($field: fields.take()),* },)*
                    other => {
                        fields.spoil(other != $first);
                        $kind::$name0 { $($field0: fields.take()),* }
                    }
                };
                fields.end(wrong);
                read
            }
        }
        $crate::decoded!($kind);
    };
}

/// The table of what is one of several names, each a number. The first one is given where
/// something is wrong.
///
/// ```
/// #[derive(Debug, PartialEq)]
/// enum Seen {
///     Flat,
///     NotFlat,
/// }
/// standsquare_plain::indexed!(Seen { 0 Flat, 1 NotFlat });
///
/// assert_eq!(minicbor::decode::<Seen>(b"\x00").expect("a number"), Seen::Flat);
/// assert_eq!(minicbor::decode::<Seen>(b"\x01").expect("a number"), Seen::NotFlat);
/// assert!(minicbor::decode::<Seen>(b"\x02").is_err(), "there is no 2");
/// ```
#[macro_export]
macro_rules! indexed {
    ($kind:ident { $first:literal $name0:ident $(, $tag:literal $name:ident)* $(,)? }) => {
        impl $crate::Take for $kind {
            fn take(value: $crate::Value, wrong: &mut bool) -> Self {
                match <u32 as $crate::Take>::take(value, wrong) {
                    $($tag => $kind::$name,)*
                    other => {
                        *wrong |= other != $first;
                        $kind::$name0
                    }
                }
            }
        }
        $crate::decoded!($kind);
    };
}
