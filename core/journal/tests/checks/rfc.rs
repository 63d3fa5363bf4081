//! Published vectors: CBOR (RFC 8949), Ed25519 (RFC 8032).

use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::{Event, verify_signature};

fn hex(text: &str) -> Vec<u8> {
    let digits: Vec<u8> = text.bytes().filter(|b| !b.is_ascii_whitespace()).collect();
    digits
        .chunks(2)
        .map(|two| {
            let two = std::str::from_utf8(two).expect("hex");
            u8::from_str_radix(two, 16).expect("hex")
        })
        .collect()
}

fn at(at_ms: i64) -> Vec<u8> {
    Event {
        version: 1,
        at_ms,
        fact: Fact::SessionLeft {},
    }
    .encode()
}

/// An event whose moment is these bytes.
fn with_moment(moment: &[u8]) -> Vec<u8> {
    [&[0x83, 1], moment, &[0x82, 0x18, 39, 0x80]].concat()
}

/// RFC 8949, Appendix A: whole numbers within 64 bits.
#[test]
fn whole_numbers_are_written_as_the_standard_lists_them() {
    for (value, bytes) in [
        (0, "00"),
        (1, "01"),
        (10, "0a"),
        (23, "17"),
        (24, "1818"),
        (25, "1819"),
        (100, "1864"),
        (1000, "1903e8"),
        (1_000_000, "1a000f4240"),
        (1_000_000_000_000, "1b000000e8d4a51000"),
        (-1, "20"),
        (-10, "29"),
        (-100, "3863"),
        (-1000, "3903e7"),
    ] {
        assert_eq!(at(value), with_moment(&hex(bytes)), "{value}");
    }
    // Numbers that no moment can be.
    for bytes in ["1bffffffffffffffff", "3bffffffffffffffff"] {
        assert!(Event::decode_strict(&with_moment(&hex(bytes))).is_err());
    }
}

/// RFC 8949, Appendix A: strings, arrays, the simple values.
#[test]
fn strings_arrays_and_truth_are_written_as_the_standard_lists_them() {
    let text = |name: &str| {
        Event {
            version: 1,
            at_ms: 0,
            fact: Fact::VenueSet { name: name.into() },
        }
        .encode()
    };
    for (name, bytes) in [
        ("", "60"),
        ("a", "6161"),
        ("IETF", "6449455446"),
        ("\"\\", "62225c"),
        ("\u{fc}", "62c3bc"),
        ("\u{6c34}", "63e6b0b4"),
        ("\u{10151}", "64f0908591"),
    ] {
        assert_eq!(text(name), hex(&format!("830100 8204 81{bytes}")));
    }
    let raw = |raw: &[u8]| {
        Event {
            version: 1,
            at_ms: 0,
            fact: Fact::Acknowledged {
                frames: Vec::new(),
                receipt: raw.into(),
            },
        }
        .encode()
    };
    for (value, bytes) in [(&[][..], "40"), (&[1, 2, 3, 4], "4401020304")] {
        assert_eq!(raw(value), hex(&format!("830100 821829 8280{bytes}")));
    }
    let closed = |count: usize| {
        Event {
            version: 1,
            at_ms: 0,
            fact: Fact::SessionClosed {
                not_seen: vec![String::new(); count],
            },
        }
        .encode()
    };
    // Arrays of none, three and twenty-five: 80, 83, 98 19.
    for (count, head) in [(0, "80"), (3, "83"), (25, "9819")] {
        let items = "60".repeat(count);
        assert_eq!(
            closed(count),
            hex(&format!("830100 821826 81{head}{items}"))
        );
    }
    for (open, bytes) in [(false, "f4"), (true, "f5")] {
        let event = Event {
            version: 1,
            at_ms: 0,
            fact: Fact::CloseReviewed { open },
        };
        assert_eq!(event.encode(), hex(&format!("830100 821825 81{bytes}")));
    }
}

/// RFC 8949, Appendix A: well-formed, and not the one form of anything a journal holds.
#[test]
fn what_the_standard_allows_and_a_journal_does_not_is_refused() {
    for moment in [
        "c249010000000000000000",
        "c349010000000000000000",
        "f90000",
        "f98000",
        "f93c00",
        "fb3ff199999999999a",
        "fa47c35000",
        "f97c00",
        "f97e00",
        "fa7f800000",
        "fb7ff8000000000000",
        "f4",
        "f6",
        "f7",
        "f0",
        "f818",
        "f8ff",
        "c074323031332d30332d32315432303a30343a30305a",
        "c11a514b67b0",
        "c1fb41d452d9ec200000",
        "d74401020304",
        "d818456449455446",
        "40",
        "60",
        "80",
        "a0",
        "a201020304",
        "9fff",
        "bf6346756ef563416d7421ff",
        // The same numbers in longer forms (section 4.2.1).
        "1800",
        "1817",
        "190018",
        "1a000003e8",
        "1b00000000000f4240",
        "3800",
        "390063",
    ] {
        let bytes = with_moment(&hex(moment));
        assert!(Event::decode_strict(&bytes).is_err(), "{moment}");
    }
    for name in [
        "7f657374726561646d696e67ff",
        "5f42010243030405ff",
        "6181",
        "62c328",
    ] {
        let bytes = hex(&format!("830100 8204 81{name}"));
        assert!(Event::decode_strict(&bytes).is_err(), "{name}");
    }
}

/// RFC 8949, Appendix F.1: every example of what is not well-formed.
const NOT_WELL_FORMED: &str = "\
18, 19, 1a, 1b, 19 01, 1a 01 02, 1b 01 02 03 04 05 06 07, 38, 58, 78, 98, 9a 01 ff 00, \
b8, d8, f8, f9 00, fa 00 00, fb 00 00 00, \
41, 61, 5a ff ff ff ff 00, 5b ff ff ff ff ff ff ff ff 01 02 03, 7a ff ff ff ff 00, \
7b 7f ff ff ff ff ff ff ff 01 02 03, \
81, 81 81 81 81 81 81 81 81 81, 82 00, a1, a2 01 02, a1 00, a2 00 00 00, \
c0, 5f 41 00, 7f 61 00, \
9f, 9f 01 02, bf, bf 01 02 01 02, 81 9f, 9f 80 00, 9f 9f 9f 9f 9f ff ff ff ff, \
9f 81 9f 81 9f 9f ff ff ff, \
1c, 1d, 1e, 3c, 3d, 3e, 5c, 5d, 5e, 7c, 7d, 7e, 9c, 9d, 9e, bc, bd, be, dc, dd, de, fc, \
fd, fe, \
f8 00, f8 01, f8 18, f8 1f, \
5f 00 ff, 5f 21 ff, 5f 61 00 ff, 5f 80 ff, 5f a0 ff, 5f c0 00 ff, 5f e0 ff, 7f 41 00 ff, \
5f 5f 41 00 ff ff, 7f 7f 61 00 ff ff, \
ff, 81 ff, 82 00 ff, a1 ff, a1 ff 00, a1 00 ff, a2 00 00 ff, 9f 81 ff, \
9f 82 9f 81 9f 9f ff ff ff ff, bf 00 ff, bf 00 00 00 ff, \
1f, 3f, df";

#[test]
fn what_is_not_well_formed_is_refused_wherever_it_stands() {
    let items: Vec<Vec<u8>> = NOT_WELL_FORMED.split(", ").map(hex).collect();
    // The count of the appendix: two are written with a break that stands alone.
    assert_eq!(items.len(), 94);
    let whole = at(7);
    for item in &items {
        let places = [
            item.clone(),
            with_moment(item),
            [&[0x83, 1, 7], item.as_slice()].concat(),
            [&whole, item.as_slice()].concat(),
            [&[0x83, 1, 7, 0x82, 4, 0x81], item.as_slice()].concat(),
        ];
        for bytes in places {
            assert!(Event::decode_strict(&bytes).is_err(), "{bytes:x?}");
        }
    }
}

/// RFC 8032, section 7.1: tests 1, 2, 3 and SHA(abc). Secret key, public key, message,
/// signature.
#[test]
fn ed25519_gives_the_standards_signatures_and_takes_no_others() {
    let tests = [
        (
            "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
            "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
            "",
            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155\
             5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
        ),
        (
            "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
            "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
            "72",
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da\
             085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
        ),
        (
            "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
            "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
            "af82",
            "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac\
             18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
        ),
        (
            "833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42",
            "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
            "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a\
             2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f",
            "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b589\
             09351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704",
        ),
    ];
    for (secret, public, message, signature) in tests {
        let secret: [u8; 32] = hex(secret).try_into().expect("32 bytes");
        let public: [u8; 32] = hex(public).try_into().expect("32 bytes");
        let signature: [u8; 64] = hex(signature).try_into().expect("64 bytes");
        let message = hex(message);
        let key = SigningKey::from_bytes(&secret);
        assert_eq!(key.verifying_key().to_bytes(), public);
        assert_eq!(key.sign(&message).to_bytes(), signature);
        assert_eq!(verify_signature(1, &public, &message, &signature), Ok(()));
        // Any bit changed: refused.
        for bit in 0..512 {
            let mut other = signature;
            other[bit / 8] ^= 1 << (bit % 8);
            assert!(verify_signature(1, &public, &message, &other).is_err());
        }
        let longer = [&message[..], b"."].concat();
        assert!(verify_signature(1, &public, &longer, &signature).is_err());
        // The same signature with the group's order added to its second half would pass
        // where that half is not held below the order (RFC 8032, section 5.1.7).
        assert!(verify_signature(1, &public, &message, &malleated(signature)).is_err());
    }
}

/// The signature with the group's order added to its scalar. The order is of RFC 8032,
/// section 5.1: 2^252 + 27742317777372353535851937790883648493.
fn malleated(mut signature: [u8; 64]) -> [u8; 64] {
    let order = hex("edd3f55c1a631258d69cf7a2def9de1400000000000000000000000000000010");
    let mut carry = 0;
    for (byte, add) in signature[32..].iter_mut().zip(order) {
        let sum = u16::from(*byte) + u16::from(add) + carry;
        *byte = sum as u8;
        carry = sum >> 8;
    }
    signature
}
