//! The trainer's pages: who sees them, what they say, and where they keep silent.

mod support;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use http_body_util::BodyExt;
use standsquare_journal::record::fact::{Fact, Outcome};
use standsquare_measuring::gauge::Least;
use standsquare_office::accounts::Role;
use standsquare_office::{OfficeState, demo, trainer, web};
use standsquare_sync::post_body;
use support::*;
use tower::ServiceExt;

async fn get(office: &OfficeState, path: &str, cookie: &str) -> (StatusCode, String) {
    let request = Request::get(path).header(header::COOKIE, cookie);
    let request = request.body(Body::empty()).expect("a request");
    let answer = web::router(office.clone())
        .oneshot(request)
        .await
        .expect("an answer");
    let status = answer.status();
    let bytes = answer
        .into_body()
        .collect()
        .await
        .expect("a body")
        .to_bytes();
    (status, String::from_utf8(bytes.to_vec()).expect("text"))
}

/// Signs somebody in without the form; their cookie.
fn signed_in(office: &OfficeState, role: Role) -> String {
    let token = [role as u8 + 1; 32];
    let name = format!("{}-one", role.word());
    let word = "fifteen letters and more";
    apart(|| {
        office
            .put_account(&name, "Wren Ashdown", role, word, &[7; 16])
            .expect("an account");
        let now = std::time::SystemTime::now();
        let since = now
            .duration_since(std::time::UNIX_EPOCH)
            .expect("after 1970");
        let at_ms = i64::try_from(since.as_millis()).expect("a time");
        office
            .sign_in(&name, word, &token, at_ms)
            .expect("signed in");
    });
    format!("standsquare-office={}", hex(&token))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// 25 small dogs, measured again 400 days later: three are medium then. Five were near the limit.
fn two_sessions() -> Pen {
    let mut pen = Pen::new(1);
    pen.set_up();
    let chip = |n: u32| format!("999000{n:09}");
    for n in 1..=25 {
        let mut s = pen.statement(n, &format!("Dog {n}"), &chip(n));
        if n <= 5 {
            s.flags = vec!["near-limit".into()];
        }
        pen.dog(&s);
    }
    pen.close();
    pen.session = [0x5f; 16];
    pen.write(Fact::SessionBegun {
        session: pen.session.into(),
        roster: [1; 32].into(),
        pack: [2; 32].into(),
        offset_min: 60,
        day: DAY + 400,
    });
    pen.write(Fact::VenueSet {
        name: "Hollin Field".into(),
    });
    for (person, number) in [("ottoline", "LM-014"), ("bram", "LM-022")] {
        pen.write(Fact::Seated {
            person: person.into(),
            number: number.into(),
        });
    }
    pen.write(Fact::QueueOpened {});
    for n in 1..=25 {
        let mut s = pen.statement(n, &format!("Dog {n}"), &chip(n));
        (s.measure, s.day) = (2, DAY + 400);
        if n <= 3 {
            s.outcome = Outcome::Category {
                id: "medium".into(),
                label: "Medium".into(),
            };
        }
        pen.dog(&s);
    }
    pen.close();
    pen
}

fn office_with(rules: &str) -> OfficeState {
    let mut roster = demo::roster();
    roster.pack.push_str(rules);
    let office = OfficeState::open(engine(), demo::demo_only_key(), roster).expect("an office");
    let body = post_body(&two_sessions().frames);
    apart(|| office.ingest(&body, BEGIN_MS)).expect("taken in");
    office
}

#[tokio::test]
async fn only_the_trainer_and_the_secretary_see_them() {
    let office = office_with("");
    for path in [
        "/trainer",
        "/trainer/changes.csv",
        "/trainer/measurers/bram",
        "/trainer/measurers/bram/months.csv",
    ] {
        assert_eq!(
            get(&office, path, "").await.0,
            StatusCode::SEE_OTHER,
            "{path}"
        );
        for (role, status) in [
            (Role::Reader, StatusCode::FORBIDDEN),
            (Role::Measurer, StatusCode::FORBIDDEN),
            (Role::Trainer, StatusCode::OK),
            (Role::Secretary, StatusCode::OK),
        ] {
            let cookie = signed_in(&office, role);
            assert_eq!(
                get(&office, path, &cookie).await.0,
                status,
                "{path} {role:?}"
            );
        }
    }
    let cookie = signed_in(&office, Role::Trainer);
    let missing = get(&office, "/trainer/measurers/nobody", &cookie).await;
    assert_eq!(missing.0, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn second_measures_are_counted_and_measurers_are_named_without_numbers() {
    let office = office_with("");
    let cookie = signed_in(&office, Role::Trainer);
    let (_, page) = get(&office, "/trainer", &cookie).await;
    // 3 of 25: Wilson's interval by statsmodels' proportion_confint is 4.2 to 30.0 %.
    assert!(page.contains("12.0 % (3 of 25; 4.2 % to 30.0 %)"), "{page}");
    assert!(
        page.contains("nothing is said below 20"),
        "no medium dogs at first"
    );
    assert!(page.contains("sureness.spread"), "what is missing is named");
    assert!(!page.contains("<svg"));
    let list = &page[page.find("One at a time").expect("the list")..];
    let list = &list[..list.find("</ul>").expect("its end")];
    assert!(list.contains("Bram Tolley") && list.contains("Ottoline Marsh"));
    let text: String = list
        .split('<')
        .filter_map(|p| p.split_once('>'))
        .map(|(_, t)| t)
        .collect();
    assert!(
        !text.contains(|c: char| c.is_ascii_digit()),
        "a league table: {text}"
    );
    let (_, csv) = get(&office, "/trainer/changes.csv", &cookie).await;
    assert!(
        csv.starts_with("first,second,dogs\r\nsmall,small,22\r\nsmall,medium,3\r\n"),
        "{csv}"
    );
}

#[tokio::test]
async fn one_measurers_page_holds_their_numbers_alone() {
    let office = office_with("");
    let cookie = signed_in(&office, Role::Trainer);
    let (_, page) = get(&office, "/trainer/measurers/bram", &cookie).await;
    assert!(
        page.contains("Bram Tolley") && !page.contains("Ottoline"),
        "{page}"
    );
    assert!(
        page.contains("10.0 % (5 of 50;") && page.contains("12.0 % (3 of 25;"),
        "{page}"
    );
    assert!(
        page.contains("2 so far; nothing is said below 6"),
        "two months are no chart"
    );
    let (_, csv) = get(&office, "/trainer/measurers/bram/months.csv", &cookie).await;
    assert_eq!(
        csv,
        "month,near_limit,dogs\r\n2026-11,5,25\r\n2027-12,0,25\r\n"
    );
}

#[tokio::test]
async fn with_the_bodys_own_spread_the_curves_and_risks_are_shown() {
    let office = office_with(
        "\n[sureness]\nspread = \"4 mm\"\nguard_band = \"3 mm\"\n\
         heights = [{ from = \"25 cm\", to = \"60 cm\", dogs = 100 }]\n",
    );
    let cookie = signed_in(&office, Role::Secretary);
    let (_, page) = get(&office, "/trainer", &cookie).await;
    assert_eq!(page.matches("<svg").count(), 2, "one for each limit");
    assert!(
        page.contains("spread of 4 mm") && page.contains("With hoops 3 mm lower"),
        "{page}"
    );
}

#[test]
fn twelve_months_make_a_chart_and_a_bad_one_stands_out() {
    let mut all = Vec::new();
    for month in 1..=12 {
        for n in 0..40 {
            all.push(trainer::Measured {
                day: chrono::NaiveDate::from_ymd_opt(2026, month, 5).expect("a day"),
                chip: format!("{month}-{n}"),
                category: Some(0),
                measure: 1,
                near_limit: n < if month == 9 { 20 } else { 4 },
                people: vec!["bram".into()],
            });
        }
    }
    let found = trainer::of_measurer(&all, "bram", Least::default());
    let (centre, points) = found.chart.expect("a chart");
    assert!((centre - 64.0 / 480.0).abs() < 1e-12);
    let out: Vec<usize> = (0..12).filter(|i| points[*i].outside).collect();
    assert_eq!(out, [8]);
    assert!(
        trainer::of_measurer(&all, "ottoline", Least::default())
            .near_limit
            .is_err()
    );
}
