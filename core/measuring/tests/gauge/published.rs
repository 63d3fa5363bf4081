//! Worked examples from outside, each with its source.

use standsquare_measuring::gauge::agreement::{pairs, panel};
use standsquare_measuring::gauge::drift::{shares, smoothed};
use standsquare_measuring::gauge::risk::{conformance, global_risk, guard_band};
use standsquare_measuring::gauge::{normal, share};

use super::support::close;

/// Rounded to so many decimals, as a publication prints it.
fn prints(value: f64, decimals: usize, printed: &str) {
    assert_eq!(format!("{value:.decimals$}"), printed, "{value}");
}

/// JCGM 106:2012, 7.4: numbers found at metrologyrules.com (F2): 13.6 measured with standard
/// uncertainty 1.8, tolerance 12.5 to 16.3. Its answer of 0.66 is from memory; scipy's
/// norm.cdf gives 0.6626297864953079 for the same.
#[test]
fn jcgm_106_7_4_a_two_sided_tolerance() {
    let p = conformance(13.6, 1.8, 12.5, 16.3);
    prints(p, 2, "0.66");
    assert!(close(p, 0.662_629_786_495_307_9, 1e-12));
    // From the other tail it is the same.
    assert!(close(conformance(-13.6, 1.8, -16.3, -12.5), p, 1e-12));
}

/// JCGM 106:2012, table 1: how many standard uncertainties inside a one-sided limit give which
/// probability. From memory; the oracles hold the quantile.
#[test]
fn jcgm_106_table_1_one_sided() {
    for (p, z) in [
        (0.80, "0.84"),
        (0.90, "1.28"),
        (0.95, "1.64"),
        (0.99, "2.33"),
        (0.999, "3.09"),
    ] {
        prints(normal::quantile(p), 2, z);
        assert!(close(
            conformance(-normal::quantile(p), 1.0, f64::NEG_INFINITY, 0.0),
            p,
            1e-12
        ));
    }
}

/// JCGM 106:2012, 9.5.4: ball bearings whose radial error motion, gamma distributed with shape 4
/// and scale 1/4 µm, must be below 2 µm; measured with 0.25 µm. Found as worked by Sandia's Suncal
/// (F2, github.com/sandialabs/suncal, 'Risk - Ball Bearing'): 4.2 % are bad unmeasured, 0.8 % are
/// bad and accepted, and an acceptance limit of 1.67 µm brings that to 0.1 %.
#[test]
fn jcgm_106_9_5_4_a_guard_band_for_ball_bearings() {
    // x³ e^(-4x) 4⁴ / 3!
    let density = |x: f64| 256.0 / 6.0 * x.powi(3) * (-4.0 * x).exp();
    let risk = |guard: f64| {
        let accept = |x: f64| normal::below((2.0 - guard - x) / 0.25);
        global_risk((0.0, 14.0), 2.0, 0.05, density, accept)
    };
    let bad = global_risk((0.0, 14.0), 2.0, 0.05, density, |_| 1.0).consumer;
    assert!(close(bad, 0.042_380_111_991_684, 1e-10), "{bad}");
    let plain = risk(0.0);
    assert!(
        close(plain.consumer, 0.008_019_111_884_303, 1e-10),
        "{plain:?}"
    );
    // Not published; scipy.integrate.quad over the same two functions.
    assert!(
        close(plain.producer, 0.017_444_569_229_783_6, 1e-10),
        "{plain:?}"
    );
    let band = guard_band(0.001, 1.0, |g| risk(g).consumer).expect("wide enough");
    assert!(close(band, 0.328_171_228_456_044, 1e-7), "{band}");
    prints(2.0 - band, 2, "1.67");
}

/// Two dermatologists and 88 patients (support.sas.com, PROC FREQ, 'Agreement Study': the table is
/// F1; the printed kappa, error and limits are from memory and those of statsmodels 0.14.6).
#[test]
fn a_published_agreement_study() {
    let table = vec![
        vec![10, 4, 1, 0],
        vec![5, 10, 12, 2],
        vec![2, 4, 12, 5],
        vec![0, 2, 6, 13],
    ];
    let found = pairs(&table, 0.95, 20).expect("enough");
    let k = found.kappa.expect("a kappa");
    assert_eq!((found.agree.count, found.agree.n), (45, 88));
    prints(k.kappa, 4, "0.3449");
    prints(k.error, 4, "0.0724");
    prints(k.low, 4, "0.2030");
    prints(k.high, 4, "0.4868");
}

/// SAS's printout for another table, as statsmodels' own tests quote it (F2,
/// github.com/statsmodels, test_inter_rater.py).
#[test]
fn a_second_published_kappa() {
    let k = pairs(&[vec![0, 4, 1], vec![0, 8, 0], vec![0, 1, 5]], 0.95, 10)
        .expect("enough")
        .kappa
        .expect("a kappa");
    prints(k.kappa, 4, "0.4842");
    prints(k.error, 4, "0.1380");
    prints(k.low, 4, "0.2137");
    prints(k.high, 4, "0.7547");
}

/// Fleiss 1971: 30 patients, each diagnosed by 6 psychiatrists into 5 categories; kappa 0.430.
/// The single diagnoses and 0.4302445 are quoted in statsmodels' tests from R's irr (F2).
#[test]
fn fleiss_1971() {
    let diagnoses = [
        "444444", "222555", "233335", "555555", "222444", "113333", "333355", "113334", "114444",
        "555555", "144444", "124444", "222333", "144444", "224445", "333335", "111455", "111112",
        "224444", "133555", "555555", "244444", "224555", "114444", "144445", "222224", "111155",
        "224444", "133333", "555555",
    ];
    let rows: Vec<Vec<u32>> = diagnoses
        .iter()
        .map(|all| {
            let count =
                |c: char| u32::try_from(all.chars().filter(|d| *d == c).count()).expect("six");
            ('1'..='5').map(count).collect()
        })
        .collect();
    let columns: Vec<u32> = (0..5).map(|c| rows.iter().map(|r| r[c]).sum()).collect();
    assert_eq!(columns, [26, 26, 30, 55, 43]);
    let k = panel(&rows, 0.95, 20).expect("even").expect("a kappa");
    assert!((k.kappa - 0.430_244_5).abs() < 5e-8, "{k:?}");
    prints(k.kappa, 3, "0.430");
}

/// A go/no-go study of 50 parts by three appraisers three times: the pairs' tables and kappas of the
/// automotive industry's Measurement Systems Analysis (AIAG, 4th edition, attribute study), from memory;
/// the kappas follow from the tables by hand.
#[test]
fn an_attribute_agreement_study_of_three_appraisers() {
    for (table, kappa, percent) in [
        ([[44, 6], [3, 97]], "0.86", "94.0"),
        ([[42, 5], [9, 94]], "0.79", "90.7"),
        ([[43, 7], [8, 92]], "0.78", "90.0"),
    ] {
        let table = table.map(|r| r.to_vec());
        let found = pairs(&table, 0.95, 20).expect("enough");
        prints(found.kappa.expect("a kappa").kappa, 2, kappa);
        prints(100.0 * found.agree.share, 1, percent);
    }
}

/// Two appraisers, ten parts, good or no good: seven matched, kappa 0.39393939 (F2: qstatlab.co.uk,
/// agreement analysis, example 1). The parts are not printed, but only one table gives these
/// numbers: three no good for both, four good for both, three mixed.
#[test]
fn an_attribute_agreement_study_of_two_appraisers() {
    let rows = [
        vec![vec![2, 0]; 3],
        vec![vec![0, 2]; 4],
        vec![vec![1, 1]; 3],
    ]
    .concat();
    let k = panel(&rows, 0.95, 10).expect("even").expect("a kappa");
    prints(k.kappa, 8, "0.39393939");
}

/// 14 raters, 10 subjects, 5 categories, kappa 0.210 (F2: statsmodels' tests, from an encyclopaedia).
#[test]
fn fourteen_raters() {
    let rows = [
        [0, 0, 0, 0, 14],
        [0, 2, 6, 4, 2],
        [0, 0, 3, 5, 6],
        [0, 3, 9, 2, 0],
        [2, 2, 8, 1, 1],
        [7, 7, 0, 0, 0],
        [3, 2, 6, 3, 0],
        [2, 5, 3, 2, 2],
        [6, 5, 2, 1, 0],
        [0, 2, 2, 3, 7],
    ]
    .map(|r| r.to_vec());
    let k = panel(&rows, 0.95, 10).expect("even").expect("a kappa");
    prints(k.kappa, 3, "0.210");
}

/// The p chart of NIST/SEMATECH's e-Handbook, 6.3.3.2: 30 wafers of 50 chips, mean 0.2313 (F2:
/// quesba.com quotes it; its limits 0.4102 and 0.0524 are from memory and checked by hand).
#[test]
fn a_p_chart() {
    // 347 of 1,500: the same mean and the same size of each period.
    let mut periods = vec![(11, 50); 13];
    periods.extend(vec![(12, 50); 17]);
    let (centre, points) = shares(&periods, 6).expect("enough");
    prints(centre, 4, "0.2313");
    prints(points[0].high, 4, "0.4102");
    prints(points[0].low, 4, "0.0524");
    assert!(points.iter().all(|p| !p.outside));
    let (_, points) = shares(&[periods, vec![(25, 50)]].concat(), 6).expect("enough");
    assert!(points.last().expect("one").outside);
}

/// The EWMA chart of the same handbook, 6.3.2.4 (weight 0.3, centre 50, sigma 2.0539, limits 52.5884
/// and 47.4115; the page was not found: from memory). Its last point stays within.
#[test]
fn a_smoothed_chart() {
    let data = [
        52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8,
        51.2, 52.6, 52.4, 53.6, 52.1,
    ];
    let points = smoothed(&data, 50.0, 2.0539, 0.3, 6).expect("enough");
    let last = points[19];
    prints(last.high, 3, "52.588");
    prints(last.low, 3, "47.412");
    for (at, printed) in [
        (0, "50.60"),
        (1, "49.52"),
        (2, "50.56"),
        (18, "51.94"),
        (19, "51.99"),
    ] {
        prints(points[at].value, 2, printed);
    }
    assert!(points.iter().all(|p| !p.outside));
    // The first limits are narrower: a single value's weight only.
    assert!(close(points[0].high, 50.0 + 3.0 * 0.3 * 2.0539, 1e-12));
}

/// Wilson's interval where the plain one fails: none of ten.
#[test]
fn none_of_ten_is_not_never() {
    let s = share(0, 10, 0.95);
    // z² / (n + z²), exact algebra.
    let z2 = normal::quantile(0.975).powi(2);
    assert!(
        s.low == 0.0 && close(s.high, z2 / (10.0 + z2), 1e-12),
        "{s:?}"
    );
    let all = share(10, 10, 0.95);
    assert!(all.high == 1.0 && close(all.low, 1.0 - s.high, 1e-12));
    let nothing = share(0, 0, 0.95);
    assert!((nothing.low, nothing.high) == (0.0, 1.0) && nothing.share.is_nan());
}
