//! Which signatures a finger or a face opened, and on whose phone, as it is shown and proved; and
//! what came in before offices kept it.

mod support;

use ed25519_dalek::Signer;
use standsquare_journal::record::fact::{ALG_ED25519, Fact, Harm, Whom};
use standsquare_journal::record::sign_off_bytes;
use standsquare_office::OfficeState;
use standsquare_office::backup::{back_up, restore};
use standsquare_office::db::{self, SqliteDb};
use standsquare_office::dossier::verify_dossier;
use standsquare_office::opened::{By, How};
use support::web::get;
use support::*;

const PIP: &str = "999000000112233";
const MOSS: &str = "999000000204518";
const PAGE: &str = "/sessions/5e5e5e5e-5e5e-5e5e-5e5e-5e5e5e5e5e5e";

fn by_owner(pen: &mut Pen, person: &str) {
    pen.write(Fact::OpenedByOwner {
        person: person.into(),
    });
}

/// Two dogs. Of Pip, Ottoline signs by finger and Bram by PIN; of Moss, Ottoline by PIN and Bram
/// on his own phone, by his face where `face`. The journal here, and the one on his phone.
fn two_phones(face: bool) -> (Pen, Pen) {
    let (mut pen, mut own) = (Pen::new(1), Pen::new(9));
    pen.set_up();
    own.session = [9; 16];
    own.set_up();
    let (ottoline, bram) = (person_key("ottoline"), person_key("bram"));
    let pip = pen.statement(1, "Pip", PIP);
    pen.state(&pip);
    let head = pen.head;
    pen.sign_at(head, &pip, "ottoline", &ottoline);
    by_owner(&mut pen, "ottoline");
    pen.sign_at(head, &pip, "bram", &bram);
    pen.seal();
    let moss = pen.statement(2, "Moss", MOSS);
    pen.state(&moss);
    let head = pen.head;
    pen.sign_at(head, &moss, "ottoline", &ottoline);
    let signature = bram.sign(&sign_off_bytes(&head, &moss.encode())).to_bytes();
    own.write(Fact::SignedForOther {
        device_key: pen.device_key().into(),
        person: "bram".into(),
        statement: moss.encode(),
        alg: ALG_ED25519,
        head: head.into(),
        signature: signature.into(),
    });
    if face {
        by_owner(&mut own, "bram");
    }
    own.close();
    pen.write(Fact::SignedElsewhere {
        visit: 2,
        person: "bram".into(),
        alg: ALG_ED25519,
        head: head.into(),
        signature: signature.into(),
        key: bram.verifying_key().to_bytes().into(),
        device_key: own.device_key().into(),
    });
    pen.close();
    (pen, own)
}

/// Each dog's signers: by the tables, and by the dossier alone.
fn hows(office: &OfficeState, chip: &str) -> Vec<(String, How)> {
    let (_, visits) = apart(|| office.session(SESSION)).expect("a session");
    let visit = visits.iter().find(|v| v.statement.chip == chip);
    let signed = visit.expect("the dog").signed.iter();
    let mut signed: Vec<_> = signed
        .map(|s| (s.person.clone(), s.how.expect("asked for")))
        .collect();
    signed.sort_by(|a, b| a.0.cmp(&b.0));
    let text = apart(|| {
        office.extend_log().expect("logged");
        office.dossier(chip, 9).expect("asked").expect("there")
    });
    let proven = verify_dossier(&text, &office.public_key()).expect("it verifies");
    let signers = proven.measures[0].1.iter();
    let proved: Vec<_> = signers.map(|s| (s.person.clone(), s.how)).collect();
    assert_eq!(proved, signed);
    signed
}

fn how(own_phone: bool, by: By) -> How {
    How { own_phone, by }
}

#[tokio::test(flavor = "multi_thread")]
async fn pages_and_dossiers_say_how_each_key_was_opened() {
    for (face, by, words) in [
        (true, By::Owner, "by finger or face, on their own phone"),
        (false, By::Pin, "by PIN, on their own phone"),
    ] {
        let office = office();
        let (pen, own) = two_phones(face);
        held(&office, &pen.frames);
        let named = |how: &[(String, How)]| {
            let of: Vec<_> = how.iter().map(|(p, how)| (p.clone(), *how)).collect();
            assert_eq!(
                (of.len(), of[0].0.as_str(), of[1].0.as_str()),
                (2, "bram", "ottoline")
            );
            (of[0].1, of[1].1)
        };
        let pip = (how(false, By::Pin), how(false, By::Owner));
        assert_eq!(named(&hows(&office, PIP)), pip);
        // His phone has not sent its record yet.
        let moss = (how(true, By::NotSaid), how(false, By::Pin));
        assert_eq!(named(&hows(&office, MOSS)), moss);
        let page = get(&office, PAGE, "").await.text;
        assert!(page.contains(", by finger or face<"), "{page}");
        assert!(page.contains(", on their own phone<"), "{page}");
        held(&office, &own.frames);
        let moss = (how(true, by), how(false, By::Pin));
        assert_eq!(named(&hows(&office, MOSS)), moss);
        assert_eq!(named(&hows(&office, PIP)), pip);
        let page = get(&office, PAGE, "").await.text;
        let short = words.replace(", on", " on");
        assert!(page.contains(&format!(", {short}<")), "{page}");
        let (_, visits) = apart(|| office.session(SESSION)).expect("a session");
        for (visit, both) in visits.iter().zip([
            [
                "by finger or face, on the session&#39;s phone, which is their own",
                "by PIN, on the session&#39;s phone",
            ],
            ["by PIN, on the session&#39;s phone", words],
        ]) {
            let address = format!("/measures/{}", hex::encode(visit.head));
            let page = get(&office, &address, "").await.text;
            let page = page.replace('\'', "&#39;");
            for words in both {
                assert!(page.contains(&format!(", {words}<")), "{words}: {page}");
            }
        }
    }
}

#[test]
fn another_persons_finger_opens_nothing() {
    // The record names Bram after Ottoline's signature: no app of ours writes that, and it does
    // not make hers one by finger.
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let pip = pen.statement(1, "Pip", PIP);
    pen.state(&pip);
    let head = pen.head;
    pen.sign_at(head, &pip, "ottoline", &person_key("ottoline"));
    by_owner(&mut pen, "bram");
    pen.sign_at(head, &pip, "bram", &person_key("bram"));
    pen.close();
    held(&office, &pen.frames);
    let all = hows(&office, PIP);
    assert!(
        all.iter().all(|(_, h)| *h == how(false, By::Pin)),
        "{all:?}"
    );
}

#[test]
fn a_dossier_proves_signatures_between_which_the_phone_sealed() {
    // The phone sent what it had between the two signatures.
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let pip = pen.statement(1, "Pip", PIP);
    pen.state(&pip);
    let head = pen.head;
    pen.seal();
    pen.sign_at(head, &pip, "ottoline", &person_key("ottoline"));
    by_owner(&mut pen, "ottoline");
    pen.seal();
    pen.sign_at(head, &pip, "bram", &person_key("bram"));
    pen.close();
    held(&office, &pen.frames);
    let all = hows(&office, PIP);
    let both = [how(false, By::Pin), how(false, By::Owner)];
    assert_eq!(all.iter().map(|(_, h)| *h).collect::<Vec<_>>(), both);
}

#[test]
fn bites_and_falls_of_before_offices_kept_them_get_their_rows() {
    let first = office();
    let mut pen = Pen::new(1);
    let incident = |visit, what, words: &str| Fact::Incident {
        visit,
        what,
        whom: Whom::Other,
        words: words.into(),
    };
    pen.set_up();
    pen.dog(&pen.statement(1, "Pip", PIP));
    pen.write(incident(0, Harm::Bite, "in the queue"));
    pen.write(incident(1, Harm::Fall, ""));
    pen.close();
    held(&first, &pen.frames);
    let shown = |office: &OfficeState| {
        apart(|| {
            let lines = office.session(SESSION).expect("a session");
            format!("{lines:?} {:?}", office.incidents(SESSION).expect("asked"))
        })
    };
    let before = shown(&first);
    assert!(before.contains("in the queue") && before.contains("fall"));
    // As such an office left it.
    apart(|| {
        db::write(first.engine(), |sql| {
            sql.execute("DELETE FROM incidents", &[])?;
            sql.execute("UPDATE visits SET points = '[]', weight = 0", &[])?;
            sql.execute("UPDATE derived SET edition = 2", &[])
        })
    })
    .expect("done");
    assert_ne!(shown(&first), before);
    let dir = tempfile::tempdir().expect("a folder");
    let file = dir.path().join("office.backup");
    apart(|| back_up(first.engine(), &file, 7)).expect("backed up");
    let other = SqliteDb::open(&dir.path().join("other.sqlite")).expect("a database");
    let engines: [Box<dyn db::Engine>; 2] = [engine(), Box::new(other)];
    for engine in engines {
        apart(|| restore(engine.as_ref(), &file, "here")).expect("restored");
        assert_eq!(shown(&office_over(engine)), before);
    }
}
