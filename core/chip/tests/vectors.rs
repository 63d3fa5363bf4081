//! Every telegram of the published material that was found, each with its
//! source. `pm3` is the public repository RfidResearchGroup/proxmark3 at commit
//! 1c8c3b78 (GPL: only facts are taken from it). Where a source gives the whole
//! air bits they stand here; where it gives word and CRC, the bits are made by
//! the emulated reader, which shares no code with the decoder.

use standsquare_chip::telegram::{FdxB, Hdx, id_with_crc};
use standsquare_chip::{Checksum, ChipFlag, ChipNumber, Form, Refusal, crc16};
use standsquare_reader::telegram;

/// pm3 traces/lf_ATA5577_fdxb_animal.pm3; pm3_tests.sh expects 999-000000112233.
const E1: &str = "00000000001100101101011011011100000001000000001000000111100111111000000001000000011000100101001110111000000001000000001000000001";
/// pm3 traces/lf_FDXB_Bio-Thermo.pm3.
const E3: &str = "00000000001100101101011011011100000001000000001000000111100111111100000001000000011000010011101000111010101101100000001000000001";

struct Given {
    source: &'static str,
    air: Option<&'static str>,
    word: u64,
    crc: u16,
    trailer: u32,
    country: u16,
    national: u64,
    animal: bool,
    data_block: bool,
}

const GIVEN: [Given; 5] = [
    Given {
        source: "E1: pm3 traces/lf_ATA5577_fdxb_animal.pm3",
        air: Some(E1),
        word: 0x8000_F9C0_0001_B669,
        crc: 0xDC48,
        trailer: 0,
        country: 999,
        national: 112_233,
        animal: true,
        data_block: false,
    },
    Given {
        source: "E3: pm3 traces/lf_FDXB_Bio-Thermo.pm3",
        air: Some(E3),
        word: 0x8001_F9C0_0001_B669,
        crc: 0xC590,
        trailer: 0x00_016A,
        country: 999,
        national: 112_233,
        animal: true,
        data_block: true,
    },
    Given {
        source: "E4: pm3 traces/lf_ATA5577_fdxb_extended.pm3 (word, CRC and trailer)",
        air: None,
        word: 0x0001_F9C0_0001_B669,
        crc: 0x4198,
        trailer: 0x00_016A,
        country: 999,
        national: 112_233,
        animal: false,
        data_block: true,
    },
    Given {
        source: "E5: pm3's capture with country 1022 (word and CRC)",
        air: None,
        word: 0x0000_FF80_0001_48B2,
        crc: 0xDB59,
        trailer: 0,
        country: 1022,
        national: 84_146,
        animal: false,
        data_block: false,
    },
    Given {
        source: "999/1008, constructed only and computed independently",
        air: None,
        word: 0x8000_F9C0_0000_03F0,
        crc: 0x440E,
        trailer: 0,
        country: 999,
        national: 1008,
        animal: true,
        data_block: false,
    },
];

#[test]
fn fdxb_telegrams_decode_as_their_sources_say() {
    for given in &GIVEN {
        let air = match given.air {
            Some(text) => telegram::bits(text),
            None => telegram::fdxb(given.word, given.trailer),
        };
        let got = FdxB::from_air_bits(&air).expect(given.source);
        assert_eq!(got.code.0, given.word, "{}", given.source);
        assert_eq!(got.crc, given.crc, "{}", given.source);
        assert_eq!(got.trailer, given.trailer, "{}", given.source);
        assert_eq!(got.code.country(), given.country, "{}", given.source);
        assert_eq!(got.code.national(), given.national, "{}", given.source);
        assert_eq!(got.code.animal(), given.animal, "{}", given.source);
        assert_eq!(got.code.data_block(), given.data_block, "{}", given.source);
        assert_eq!(crc16(&given.word.to_le_bytes()), given.crc);
        // The emulated reader makes the very bits of the capture.
        assert_eq!(telegram::fdxb(given.word, given.trailer), air);
        assert_eq!(FdxB::from_air_bytes(&telegram::pack(&air)), Ok(got));
    }
}

#[test]
fn e1_lowest_byte_first_as_the_facts_give_it() {
    let word: u64 = 0x8000_F9C0_0001_B669;
    assert_eq!(hex::encode_upper(word.to_le_bytes()), "69B60100C0F90080");
    // CRC-16/KERMIT over number and CRC together leaves 0.
    let whole = [word.to_le_bytes().as_slice(), &0xDC48u16.to_le_bytes()].concat();
    assert_eq!(crc16(&whole), 0);
}

#[test]
fn an_animal_telegram_is_a_number_with_flags() {
    let parsed = Form::FdxB
        .parse(&telegram::pack(&telegram::bits(E3)))
        .expect("E3");
    assert_eq!(parsed.number.to_string(), "999000000112233");
    assert_eq!(parsed.checksum, Checksum::Verified);
    assert_eq!(parsed.animal, Some(true));
    assert_eq!(parsed.flags, [ChipFlag::TestCode, ChipFlag::ExtraData]);
}

#[test]
fn e4_with_animal_bit_0_is_accepted_and_flagged() {
    let air = telegram::pack(&telegram::fdxb(GIVEN[2].word, GIVEN[2].trailer));
    let parsed = Form::FdxB.parse(&air).expect("E4");
    assert_eq!(parsed.number.to_string(), "999000000112233");
    assert_eq!(parsed.animal, Some(false));
    assert!(parsed.flags.contains(&ChipFlag::NotAnimal));
}

#[test]
fn e5_country_1022_has_no_printed_number() {
    let air = telegram::pack(&telegram::fdxb(GIVEN[3].word, 0));
    assert_eq!(
        Form::FdxB.parse(&air),
        Err(Refusal::CountryTooLarge { country: 1022 })
    );
}

/// E7: xunholy/promptzero fdxb_test.go. The package documents bit 49 as the
/// animal flag; the captures above show bit 63, which is 0 here.
#[test]
fn e7_air_bytes_with_their_crc() {
    let bytes = hex::decode("AA25169A039F00003851").expect("hex");
    let parsed = id_with_crc(&bytes).expect("E7");
    assert_eq!(parsed.number.to_string(), "999001500030037");
    assert_eq!(parsed.animal, Some(false));
    let code = parsed.code.expect("all 64 bits");
    assert_eq!(crc16(&code.0.to_le_bytes()), 0x8A1C);
}

/// HDX: pm3 cmdlfti.c for the layout; traces/lf_TI.pm3, a rewritable tag, for
/// number and CRC. Its bytes are all alike, so it proves no byte order.
#[test]
fn hdx_of_the_rewritable_tag() {
    let word: u64 = 0x5555_5555_5555_5555;
    assert_eq!(crc16(&word.to_le_bytes()), 0x852C);
    let got = Hdx::from_air_bits(&telegram::hdx(word, 0)).expect("HDX");
    assert_eq!((got.code.0, got.crc), (word, 0x852C));
}

#[test]
fn hdx_and_fdxb_carry_the_same_number() {
    let word = 0x8000_F9C0_0001_B669;
    let bytes = telegram::pack(&telegram::hdx(word, 0xABCDEF));
    let got = Hdx::from_air_bytes(&bytes).expect("HDX");
    assert_eq!(got.trailer, 0xABCDEF);
    let parsed = Form::Hdx.parse(&bytes).expect("HDX");
    assert_eq!(parsed.number.to_string(), "999000000112233");
}

/// ISO 11784: 38 bits of national code, so 274,877,906,943 is the last.
#[test]
fn the_edges_of_the_code_space() {
    let number = |text: &str| text.parse::<ChipNumber>();
    assert!(number("999274877906943").is_ok());
    assert_eq!(number("999274877906944"), Err(Refusal::NationalTooLarge));
    assert_eq!(number("000000000112233"), Err(Refusal::CountryZero));
    assert!(number("001000000000000").is_ok());
    let last = telegram::fdxb((1 << 63) | (999 << 38) | ((1 << 38) - 1), 0);
    let parsed = Form::FdxB.parse(&telegram::pack(&last)).expect("the last");
    assert_eq!(parsed.number.to_string(), "999274877906943");
    assert_eq!((1u64 << 38) - 1, 274_877_906_943);
}
