//! `sync.bytes`: a post of 60 dogs with two sign-offs each, against gzip'd JSON of the same
//! content: every fact, all three signatures, one head a dog, nothing that could be worked
//! out. At most 0.8. The bytes a dog go to standard error (goal: 400).

#[path = "../tests/support/mod.rs"]
mod support;

use standsquare_journal::record::chain;
use standsquare_sync::{compressed_body, lean_body, post_body, stretch_body};
use support::Pen;
use support::json::{Form, gzipped};

const DOGS: usize = 60;

fn main() {
    let pen = Pen::day(1, DOGS);
    let dogs = &pen.frames[1..];
    let ours = stretch_body(dogs, 0, chain).len();
    let lean = gzipped(&pen.frames, 1, Form::Lean).len();
    let each = |bytes: usize| format!("{:.0}", bytes as f64 / DOGS as f64);
    eprintln!(
        "bytes a dog: {} as sent; {} only compressed, {} plain; one alone {}; gzip'd JSON {}, \
         with a hash and the one before in every event {}",
        each(ours),
        each(compressed_body(dogs).len()),
        each(post_body(dogs).len()),
        lean_body(&dogs[..1], chain).len(),
        each(lean),
        each(gzipped(&pen.frames, 1, Form::Chained).len()),
    );
    let ratio = ours as f64 / lean as f64;
    let good = ratio <= 0.8 && ours <= 400 * DOGS;
    println!(
        "sync.bytes {ratio:.2} <=0.8 {}",
        if good { "ok" } else { "short" }
    );
}
