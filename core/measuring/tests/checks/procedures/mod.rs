//! Published decision procedures, each through the whole engine. The source stands beside each
//! test as in facts: F1 the issuer's own text, F2 a mirror or another's report.

mod america;
mod elsewhere;
mod europe;

use crate::support::*;
use standsquare_measuring::*;

fn mm(n: i64) -> Length {
    Length::from_mm(n)
}

/// A dog measured at this height on this day, with these earlier measures.
fn dog(
    pack: &RulePack,
    born: &str,
    today: &str,
    height: &str,
    before: Vec<EarlierMeasure>,
) -> Verdict {
    let mut case = case_for(pack);
    case.born = Some(day(born));
    case.today = day(today);
    case.earlier = before;
    measure(pack, &mut case, height.parse().unwrap());
    judge(pack, &case)
}
