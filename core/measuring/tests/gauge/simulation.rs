//! A thousand simulated bodies with known spread and bias: 95 % intervals must hold the truth in
//! 93 to 97 % of them.

use standsquare_measuring::gauge::agreement::{pairs, panel};
use standsquare_measuring::gauge::pooled::pooled;
use standsquare_measuring::gauge::probit::gather;
use standsquare_measuring::gauge::{Cell, Estimate, Placer, fit, profile, share};

use super::support::Dice;

const LEVEL: f64 = 0.95;

/// A thousand, or as many as `STANDSQUARE_BODIES` says.
fn bodies() -> usize {
    let asked = std::env::var("STANDSQUARE_BODIES").ok();
    asked.and_then(|n| n.parse().ok()).unwrap_or(1_000)
}

/// How often something held.
#[derive(Default)]
struct Held {
    yes: u32,
    of: u32,
}

impl Held {
    fn count(&mut self, yes: bool) {
        self.yes += u32::from(yes);
        self.of += 1;
    }

    fn check(&self, what: &str) {
        let share = f64::from(self.yes) / f64::from(self.of);
        println!("{what}: {share:.4} of {}", self.of);
        assert!((share - LEVEL).abs() <= 0.02, "{what}: {share}");
    }
}

fn holds(e: &Estimate, truth: f64) -> bool {
    e.low <= truth && truth <= e.high
}

#[test]
fn spread_and_bias_of_one_measurer() {
    let mut dice = Dice(1);
    let (mut spread_held, mut bias_held) = (Held::default(), Held::default());
    let (mut even_spread, mut even_bias) = (Held::default(), Held::default());
    for _ in 0..bodies() {
        let (s, b) = (dice.between(2.0, 9.0), dice.between(-4.0, 4.0));
        let cells: Vec<Cell> = (0..300)
            .map(|_| {
                // Heights read to a millimetre, as they are.
                let room = (dice.between(-2.5, 2.5) * s).round();
                Cell::one(room, room - b > s * dice.normal())
            })
            .collect();
        let cells = gather(cells);
        let f = fit(&cells, 60).expect("a fit");
        let (spread, bias) = profile(&cells, &f, LEVEL);
        spread_held.count(holds(&spread, s));
        bias_held.count(holds(&bias, b));
        even_spread.count(holds(&f.spread_mm(LEVEL), s));
        even_bias.count(holds(&f.bias_mm(LEVEL), b));
    }
    even_spread.check("spread, symmetric interval");
    even_bias.check("bias, symmetric interval");
    spread_held.check("spread");
    bias_held.check("bias");
}

#[test]
fn measurers_of_a_body_partially_pooled() {
    let mut dice = Dice(2);
    let (mut spread_held, mut own_held) = (Held::default(), Held::default());
    let mut between_held = Held::default();
    let (mut closer, mut alone) = (0.0, 0.0);
    for _ in 0..bodies() {
        let (s, b, between) = (
            dice.between(3.0, 8.0),
            dice.between(-3.0, 3.0),
            dice.between(0.5, 3.0),
        );
        let truths: Vec<f64> = (0..15).map(|_| b + between * dice.normal()).collect();
        let groups: Vec<Vec<Cell>> = truths
            .iter()
            .map(|own| {
                (0..40)
                    .map(|_| {
                        let room = (dice.between(-2.0, 2.0) * s).round();
                        Cell::one(room, room - own > s * dice.normal())
                    })
                    .collect::<Vec<_>>()
            })
            .collect();
        let groups: Vec<Vec<Cell>> = groups.into_iter().map(gather).collect();
        let p = pooled(&groups, LEVEL, 60).expect("a fit");
        spread_held.count(holds(&p.spread_mm, s));
        between_held.count(holds(&p.between_mm, between));
        for ((m, truth), cells) in p.measurers.iter().zip(&truths).zip(&groups) {
            own_held.count(holds(&m.bias_mm, *truth));
            if let Ok(f) = fit(cells, 10) {
                closer += (m.bias_mm.value - truth).powi(2);
                alone += (f.bias_mm(LEVEL).value - truth).powi(2);
            }
        }
    }
    spread_held.check("common spread");
    own_held.check("each measurer's bias");
    between_held.check("between measurers");
    // What pooling is for: on the average nearer to the truth than each measurer's own fit.
    assert!(closer < alone, "{closer} {alone}");
}

/// Categories of one dog by two measurers with the same spread.
fn two(dice: &mut Dice, placer: &Placer) -> (usize, usize) {
    let height = dice.between(330.0, 370.0);
    let p = placer.flat(height, 350.0);
    (usize::from(dice.unit() > p), usize::from(dice.unit() > p))
}

/// What kappa truly is: both marginals are even by symmetry, so it is twice the share that
/// agrees, less one; the share by a fine sum over heights.
fn true_kappa(placer: &Placer) -> f64 {
    let n = 20_000;
    let agree: f64 = (0..n)
        .map(|i| {
            let p = placer.flat(330.0 + 40.0 * (f64::from(i) + 0.5) / f64::from(n), 350.0);
            p * p + (1.0 - p) * (1.0 - p)
        })
        .sum::<f64>()
        / f64::from(n);
    2.0 * agree - 1.0
}

#[test]
fn kappas_and_shares() {
    let mut dice = Dice(3);
    let (mut kappa_held, mut share_held, mut panel_held) =
        (Held::default(), Held::default(), Held::default());
    let placers = [6.0, 9.0, 12.0].map(|s| Placer::new(s, 0.0).expect("a placer"));
    let truths = placers.map(|p| true_kappa(&p));
    for body in 0..bodies() {
        let (placer, truth) = (&placers[body % 3], truths[body % 3]);
        let mut table = vec![vec![0; 2]; 2];
        for _ in 0..250 {
            let (a, b) = two(&mut dice, placer);
            table[a][b] += 1;
        }
        let found = pairs(&table, LEVEL, 20).expect("enough");
        let k = found.kappa.expect("a kappa");
        kappa_held.count(k.low <= truth && truth <= k.high);
        let agree = 0.5 * (truth + 1.0);
        share_held.count(found.agree.low <= agree && agree <= found.agree.high);
        let rows: Vec<Vec<u32>> = (0..120)
            .map(|_| {
                let height = dice.between(330.0, 370.0);
                let p = placer.flat(height, 350.0);
                let within =
                    u32::try_from((0..4).filter(|_| dice.unit() < p).count()).expect("four");
                vec![within, 4 - within]
            })
            .collect();
        let k = panel(&rows, LEVEL, 20).expect("even").expect("a kappa");
        panel_held.count(k.low <= truth && truth <= k.high);
    }
    kappa_held.check("Cohen's kappa");
    share_held.check("percent agreement");
    panel_held.check("Fleiss' kappa");
}

/// Wilson's interval for the rows of the transition table, over shares and sizes that occur.
#[test]
fn rows_of_the_transition_table() {
    let mut dice = Dice(4);
    let mut held = Held::default();
    for _ in 0..20 * bodies() {
        let (n, p) = (20 + dice.below(180), dice.between(0.02, 0.5));
        let k = (0..n).filter(|_| dice.unit() < p).count() as u64;
        let s = share(k, n, LEVEL);
        held.count(s.low <= p && p <= s.high);
    }
    held.check("a changed category");
}
