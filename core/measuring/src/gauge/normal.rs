//! The normal distribution.
//!
//! `erfc` is libm's (musl's, from Sun's fdlibm): a crate of that alone is a few kilobytes on a
//! phone, where a whole statistics library would bring matrices and random numbers. The quantile
//! is Wichura's algorithm AS 241 (Applied Statistics 37, 1988, 477-484), routine PPND16. Both are
//! held against scipy in `tests/gauge`.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// Below this, `erfc` has run out of numbers and the tail's own series is better.
const DEEP: f64 = -37.0;

/// The density at `z`.
pub fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// The probability of a value of at most `z`.
pub fn below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

/// The probability of a value above `z`; exact far out, where `1 - below(z)` would be nothing.
pub fn above(z: f64) -> f64 {
    0.5 * libm::erfc(z * FRAC_1_SQRT_2)
}

/// One over the square root of two pi: the density at nothing.
const DENSEST: f64 = 0.398_942_280_401_432_7;

/// [`below`] and `density(z) / below(z)`, for a `z` that is not far down in the lower tail. Both
/// rest on one exponential: a fit wants them by the hundred thousand. Rational approximations of W. J.
/// Cody (Mathematics of Computation 23, 1969, 631-637), good to 10⁻¹⁴; beyond them, [`below`] itself.
pub(crate) fn below_and_hazard(z: f64) -> (f64, f64) {
    let y = z.abs();
    if y > 5.6 {
        let p = below(z);
        return (p, density(z) / p);
    }
    let e = (-0.5 * z * z).exp();
    if y <= 0.674_489_75 {
        let x = z * z;
        let (n, d) = (NEAR.0[0] * x, x);
        let (n, d) = (1..4).fold((n, d), |(n, d), i| {
            ((n + NEAR.0[i]) * x, (d + NEAR.1[i - 1]) * x)
        });
        let p = 0.5 + z * (n + NEAR.0[4]) / (d + NEAR.1[3]);
        return (p, e * DENSEST / p);
    }
    let (n, d) = (FAR.0[0] * y, y);
    let (n, d) = (1..8).fold((n, d), |(n, d), i| {
        ((n + FAR.0[i]) * y, (d + FAR.1[i - 1]) * y)
    });
    // The tail's share of e.
    let tail = (n + FAR.0[8]) / (d + FAR.1[7]);
    if z < 0.0 {
        (e * tail, DENSEST / tail)
    } else {
        let p = 1.0 - e * tail;
        (p, e * DENSEST / p)
    }
}

/// The natural logarithm of [`below`] and `density(z) / below(z)`, both finite for every finite
/// `z`: together, since they are wanted together by the million.
pub(crate) fn ln_below_and_hazard(z: f64) -> (f64, f64) {
    if z > DEEP {
        let p = below(z);
        return (p.ln(), density(z) / p);
    }
    // Mills' ratio: below(z) = density(z) / |z| · (1 - 1/z² + 3/z⁴ - …).
    let z2 = z * z;
    let series = -1.0 / z2 + 3.0 / (z2 * z2);
    let ln = -0.5 * z2 - 0.5 * (2.0 * PI).ln() - (-z).ln() + series.ln_1p();
    (ln, -z / (1.0 + series))
}

/// The value that is not exceeded with probability `p`; infinite at 0 and 1, not a number outside.
pub fn quantile(p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        return q * ratio(r, &A, &B);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    if tail <= 0.0 {
        return if q < 0.0 {
            f64::NEG_INFINITY
        } else {
            f64::INFINITY
        };
    }
    let r = (-tail.ln()).sqrt();
    let z = if r <= 5.0 {
        ratio(r - 1.6, &C, &D)
    } else {
        ratio(r - 5.0, &E, &F)
    };
    if q < 0.0 { -z } else { z }
}

/// How many standard deviations either side hold `level` of a normal distribution.
pub(crate) fn two_sided(level: f64) -> f64 {
    quantile(0.5 + 0.5 * level)
}

fn ratio(r: f64, above: &[f64; 8], below: &[f64; 7]) -> f64 {
    let polynomial = |all: &[f64]| all.iter().rev().fold(0.0, |sum, c| sum * r + c);
    polynomial(above) / (1.0 + r * polynomial(below))
}

// AS 241's coefficients, as published, lowest power first.
const A: [f64; 8] = [
    3.387_132_872_796_366_5,
    133.141_667_891_784_38,
    1_971.590_950_306_551_3,
    13_731.693_765_509_46,
    45_921.953_931_549_87,
    67_265.770_927_008_7,
    33_430.575_583_588_13,
    2_509.080_928_730_122_7,
];
const B: [f64; 7] = [
    42.313_330_701_600_91,
    687.187_007_492_057_9,
    5_394.196_021_424_751,
    21_213.794_301_586_597,
    39_307.895_800_092_71,
    28_729.085_735_721_943,
    5_226.495_278_852_854,
];
const C: [f64; 8] = [
    1.423_437_110_749_683_5,
    4.630_337_846_156_545,
    5.769_497_221_460_691,
    3.647_848_324_763_204_5,
    1.270_458_252_452_368_4,
    0.241_780_725_177_450_6,
    0.022_723_844_989_269_184,
    7.745_450_142_783_414e-4,
];
const D: [f64; 7] = [
    2.053_191_626_637_759,
    1.676_384_830_183_803_8,
    0.689_767_334_985_1,
    0.148_103_976_427_480_08,
    0.015_198_666_563_616_457,
    5.475_938_084_995_345e-4,
    1.050_750_071_644_416_9e-9,
];
const E: [f64; 8] = [
    6.657_904_643_501_103,
    5.463_784_911_164_114,
    1.784_826_539_917_291_3,
    0.296_560_571_828_504_87,
    0.026_532_189_526_576_124,
    0.001_242_660_947_388_078_4,
    2.711_555_568_743_487_6e-5,
    2.010_334_399_292_288_1e-7,
];
const F: [f64; 7] = [
    0.599_832_206_555_887_9,
    0.136_929_880_922_735_8,
    0.014_875_361_290_850_615,
    7.868_691_311_456_133e-4,
    1.846_318_317_510_054_8e-5,
    1.421_511_758_316_446e-7,
    2.044_263_103_389_939_8e-15,
];

// Cody's coefficients for the normal distribution, as published: above and below the line, near the
// middle and further out.
const NEAR: ([f64; 5], [f64; 4]) = (
    [
        0.065_682_337_918_207_45,
        2.235_252_035_460_684,
        161.028_231_068_555_88,
        1_067.689_485_460_371,
        18_154.981_253_343_56,
    ],
    [
        47.202_581_904_688_24,
        976.098_551_737_776_7,
        10_260.932_208_618_979,
        45_507.789_335_026_73,
    ],
);
const FAR: ([f64; 9], [f64; 8]) = (
    [
        1.076_557_677_372_019_2e-8,
        0.398_941_512_088_134_66,
        8.883_149_794_388_377,
        93.506_656_132_177_85,
        597.270_276_394_800_3,
        2_494.537_585_290_372_6,
        6_848.190_450_536_283,
        11_602.651_437_647_35,
        9_842.714_838_383_978,
    ],
    [
        22.266_688_044_328_117,
        235.387_901_782_625,
        1_519.377_599_407_554_8,
        6_485.558_298_266_761,
        18_615.571_640_885_097,
        34_900.952_721_145_98,
        38_912.003_286_093_27,
        19_685.429_676_859_992,
    ],
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn far_tails_stay_finite_and_join_without_a_step() {
        for z in [-36.999_999, -37.000_001] {
            // scipy.special.log_ndtr(-37), and the density's logarithm less it.
            let (ln, hazard) = ln_below_and_hazard(z);
            assert!((ln + 689.030_585_5).abs() < 1e-3, "{ln}");
            assert!((hazard - 37.026_987_8).abs() < 1e-4, "{hazard}");
        }
        let (ln, hazard) = ln_below_and_hazard(-1e6);
        assert!(ln.is_finite() && hazard.is_finite());
    }

    #[test]
    fn the_quick_pair_is_the_slow_one() {
        // libm's erfc is held against scipy; this is held against it.
        for i in -2_000..=2_000 {
            let z = f64::from(i) / 100.0;
            let (p, hazard) = below_and_hazard(z);
            assert!((p / below(z) - 1.0).abs() < 1e-13, "{z}: {p}");
            let slow = density(z) / below(z);
            assert!((hazard / slow - 1.0).abs() < 1e-13, "{z}: {hazard}");
        }
    }

    #[test]
    fn the_ends_are_infinite_and_what_is_no_probability_is_no_number() {
        assert_eq!(quantile(0.0), f64::NEG_INFINITY);
        assert_eq!(quantile(1.0), f64::INFINITY);
        assert!(quantile(-0.1).is_nan() && quantile(1.1).is_nan() && quantile(f64::NAN).is_nan());
    }
}
