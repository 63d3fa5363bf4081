//! Numbers, texts and bytes, and what is made of a few of them.

use minicbor::bytes::ByteArray;

use super::{In, Out, Put};

/// The next byte: by the thousand whenever the app is opened.
#[inline(always)]
fn byte(from: &mut In<'_>) -> u8 {
    match from.bytes.split_first() {
        Some((first, rest)) => {
            from.bytes = rest;
            *first
        }
        None => {
            from.wrong = true;
            0
        }
    }
}

impl Put for u8 {
    #[inline(never)]
    fn put(&self, to: &mut Out) {
        to.bytes.push(*self);
    }

    #[inline(never)]
    fn take(from: &mut In<'_>) -> Self {
        byte(from)
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
            let next = byte(from);
            number |= u64::from(next & 0x7f) << shift;
            if next < 0x80 {
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
pub(super) fn put_bytes(bytes: &[u8], to: &mut Out) {
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

impl<const N: usize> Put for ByteArray<N> {
    fn put(&self, to: &mut Out) {
        (**self).put(to);
    }

    fn take(from: &mut In<'_>) -> Self {
        <[u8; N]>::take(from).into()
    }
}
