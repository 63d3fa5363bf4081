//! What is taken and what is refused. The bytes with a meaning in a comment are examples of
//! RFC 8949, appendix A (from memory).

use minicbor::Decode;
use minicbor::bytes::{ByteArray, ByteVec};
use standsquare_plain::{Take, Value, decode, indexed, record, tagged};

fn taken<T: Take>(bytes: &[u8]) -> Option<T> {
    decode(&mut minicbor::Decoder::new(bytes)).ok()
}

fn read<T: for<'b> Decode<'b, ()>>(bytes: &[u8]) -> Option<T> {
    minicbor::decode(bytes).ok()
}

#[test]
fn numbers_are_taken_where_they_fit() {
    let most = b"\x1b\xff\xff\xff\xff\xff\xff\xff\xff"; // 18446744073709551615
    assert_eq!(taken::<u64>(most), Some(u64::MAX));
    assert_eq!(taken::<i64>(most), None);
    let least = b"\x3b\xff\xff\xff\xff\xff\xff\xff\xff"; // -18446744073709551616
    assert_eq!(taken::<i64>(least), None);
    let million = b"\x1a\x00\x0f\x42\x40"; // 1000000
    assert_eq!(taken::<u32>(million), Some(1_000_000));
    assert_eq!(taken::<i32>(million), Some(1_000_000));
    assert_eq!(taken::<u8>(million), None);
    assert_eq!(taken::<u8>(b"\x18\x64"), Some(100)); // 100
    let less = b"\x39\x03\xe7"; // -1000
    assert_eq!(taken::<i64>(less), Some(-1000));
    assert_eq!(taken::<i32>(less), Some(-1000));
    assert_eq!(taken::<u64>(less), None);
}

#[test]
fn each_kind_is_taken_as_itself_alone() {
    let kinds: [&[u8]; 6] = [
        b"\xf5",                 // true
        b"\x0a",                 // 10
        b"\x44\x01\x02\x03\x04", // h'01020304'
        b"\x64IETF",             // "IETF"
        b"\x83\x01\x02\x03",     // [1, 2, 3]
        b"\xf6",                 // null
    ];
    let which = |takes: &dyn Fn(&[u8]) -> bool| kinds.map(takes);
    let only = |place: usize| std::array::from_fn(|at| at == place);
    assert_eq!(which(&|b| taken::<bool>(b).is_some()), only(0));
    assert_eq!(which(&|b| taken::<u32>(b).is_some()), only(1));
    assert_eq!(which(&|b| taken::<ByteVec>(b).is_some()), only(2));
    assert_eq!(which(&|b| taken::<ByteArray<4>>(b).is_some()), only(2));
    assert_eq!(which(&|b| taken::<Vec<u8>>(b).is_some()), only(2));
    assert_eq!(which(&|b| taken::<String>(b).is_some()), only(3));
    assert_eq!(which(&|b| taken::<Vec<u32>>(b).is_some()), only(4));
    assert_eq!(which(&|b| taken::<Vec<Option<u8>>>(b).is_some()), only(4));
    // No value, or one of the kind, and none of another.
    let maybe = [false, false, false, true, false, true];
    assert_eq!(which(&|b| taken::<Option<String>>(b).is_some()), maybe);
    let maybe = [false, false, true, false, false, true];
    assert_eq!(which(&|b| taken::<Option<Vec<u8>>>(b).is_some()), maybe);
}

#[test]
fn bytes_are_a_string_of_bytes_and_lists_of_them_are_lists() {
    assert_eq!(taken(b"\x43\x01\x02\x03"), Some(vec![1_u8, 2, 3]));
    assert_eq!(taken(b"\x83\x01\x02\x03"), Some(vec![1_u32, 2, 3])); // [1, 2, 3]
    let lists = b"\x82\x41\x01\x40";
    assert_eq!(taken(lists), Some(vec![vec![1_u8], vec![]]));
    assert_eq!(
        taken::<Vec<ByteArray<1>>>(lists),
        None,
        "the second is empty"
    );
    assert_eq!(taken::<ByteArray<2>>(b"\x43\x01\x02\x03"), None);
    assert_eq!(taken::<ByteArray<4>>(b"\x43\x01\x02\x03"), None);
}

#[test]
fn what_no_record_is_made_of_is_refused_wherever_it_stands() {
    for strange in [
        &b"\xf7"[..],                            // undefined
        b"\xf9\x00\x00",                         // 0.0
        b"\xa0",                                 // {}
        b"\xc1\x1a\x51\x4b\x67\xb0",             // 1(1363896240)
        b"\x5f\x42\x01\x02\x43\x03\x04\x05\xff", // (_ h'0102', h'030405')
        b"\x7f\x65strea\x64ming\xff",            // (_ "strea", "ming")
        b"\xff",
        b"",
    ] {
        let inside = [b"\x81", strange].concat();
        assert!(taken::<Anything>(strange).is_none(), "{strange:x?}");
        assert!(taken::<Anything>(&inside).is_none(), "{inside:x?}");
    }
    assert!(taken::<Anything>(b"\x83\x01\x82\x02\x03\x82\x04\x05").is_some()); // [1, [2, 3], [4, 5]]
}

#[test]
fn neither_depth_nor_a_claimed_length_costs_anything() {
    let deep = |lists: usize| [vec![0x81; lists], vec![0]].concat();
    assert!(taken::<Anything>(&deep(16)).is_some());
    assert!(taken::<Anything>(&deep(17)).is_none());
    assert!(taken::<Anything>(&deep(1_000_000)).is_none());
    let many = b"\x9b\xff\xff\xff\xff\xff\xff\xff\xff\x01";
    assert!(taken::<Anything>(many).is_none());
}

struct Anything;

impl Take for Anything {
    fn take(_: Value, _: &mut bool) -> Self {
        Anything
    }
}

#[derive(Debug, PartialEq)]
enum Seen {
    Flat,
    NotFlat,
}
indexed!(Seen { 0 Flat, 1 NotFlat });

#[derive(Debug, PartialEq)]
struct Placing {
    hoop: String,
    seen: Seen,
}
record!(Placing { hoop, seen });

#[derive(Debug, PartialEq)]
enum Says {
    Placed { placings: Vec<Placing> },
    Gone {},
    Words { words: Option<String>, raw: Vec<u8> },
}
tagged!(Says {
    3 Placed { placings }
    0 Gone {}
    1 Words { words, raw }
});

#[test]
fn a_table_takes_its_fields_in_order() {
    let placed = b"\x82\x03\x81\x82\x82\x62H1\x01\x82\x62H2\x00";
    let placing = |hoop: &str, seen| Placing {
        hoop: hoop.into(),
        seen,
    };
    let placings = vec![placing("H1", Seen::NotFlat), placing("H2", Seen::Flat)];
    assert_eq!(read(placed), Some(Says::Placed { placings }));
    assert_eq!(read(b"\x82\x00\x80"), Some(Says::Gone {}));
    let words = Says::Words {
        words: None,
        raw: vec![7],
    };
    assert_eq!(read(b"\x82\x01\x82\xf6\x41\x07"), Some(words));
}

#[test]
fn a_table_refuses_a_field_too_few_one_too_many_and_one_of_another_kind() {
    for bytes in [
        &b"\x81\x62H1"[..],
        b"\x83\x62H1\x00\x00",
        b"\x82\x62H1\x02",
        b"\x82\x00\x00",
        b"\x82\x00\x62H1",
        b"\x80",
        b"\x62H1",
        b"\xf6",
    ] {
        assert_eq!(read::<Placing>(bytes), None, "{bytes:x?}");
    }
    for bytes in [
        &b"\x82\x02\x80"[..],
        b"\x82\x00\x81\xf6",
        b"\x82\x00\xf6",
        b"\x83\x00\x80\x80",
        b"\x81\x00",
        b"\x80",
        b"\x00",
        b"\x82\x60\x80",
        b"\x82\x01\x81\xf6",
        // What is wrong deep within spoils the whole.
        b"\x82\x03\x81\x82\x82\x62H1\x01\x82\x62H2\x02",
        b"\x82\x03\x81\x81\x81\x62H1",
    ] {
        assert_eq!(read::<Says>(bytes), None, "{bytes:x?}");
    }
}
