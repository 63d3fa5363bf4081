//! The emulated chip reader as a process. See `README.md` beside it.

use clap::Parser;
use standsquare_reader::encode::DEFAULT_FORM;
use standsquare_reader::server::{Server, Setup};
use std::io::Read;
use std::net::SocketAddr;

/// An emulated chip reader. Prints one line of JSON that says where it listens,
/// then runs until its standard input closes.
#[derive(Parser)]
#[command(name = "standsquare-reader")]
struct Arguments {
    /// Where the data socket listens (loopback only).
    #[arg(long, default_value = "127.0.0.1:0")]
    data: SocketAddr,
    /// Where the control socket listens (loopback only).
    #[arg(long, default_value = "127.0.0.1:0")]
    control: SocketAddr,
    /// Open a pseudo-terminal too, which carries the same bytes.
    #[arg(long)]
    pty: bool,
    /// The form to send, by the name of a built-in profile.
    #[arg(long, default_value = DEFAULT_FORM)]
    form: String,
    /// Seed of noise, cuts and repetitions.
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

fn main() {
    let a = Arguments::parse();
    let setup = Setup {
        data: a.data,
        control: a.control,
        pty: a.pty,
        form: a.form,
        seed: a.seed,
    };
    match Server::start(&setup, || std::process::exit(0)) {
        Ok(server) => {
            println!("{}", server.announcement());
            // Ends when whoever started the reader lets go of it.
            let _ = std::io::stdin().read_to_end(&mut Vec::new());
        }
        Err(reason) => {
            eprintln!("standsquare-reader: {reason}");
            std::process::exit(2);
        }
    }
}
