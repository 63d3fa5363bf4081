//! The reader as a process: a data link that carries frames, and a control
//! socket that plays the world (a chip is presented, the reader goes away).

use crate::encode::{DEFAULT_FORM, forms};
use crate::link::Link;
use crate::script::{self, Piece};
use fastrand::Rng;
use std::io::{self, BufRead, BufReader, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::Duration;

/// How the reader is set up.
#[derive(Clone, Debug)]
pub struct Setup {
    /// Where the data socket listens; loopback only.
    pub data: SocketAddr,
    /// Where the control socket listens; loopback only.
    pub control: SocketAddr,
    /// Open a pseudo-terminal too.
    pub pty: bool,
    /// The form to send.
    pub form: String,
    /// Seed of noise, cuts and bounces.
    pub seed: u64,
}

impl Default for Setup {
    fn default() -> Self {
        let any = SocketAddr::from(([127, 0, 0, 1], 0));
        Self {
            data: any,
            control: any,
            pty: false,
            form: DEFAULT_FORM.to_owned(),
            seed: 1,
        }
    }
}

struct World {
    link: Link,
    form: String,
    rng: Rng,
}

/// A running reader. Its threads end with the process.
pub struct Server {
    world: Arc<Mutex<World>>,
    control: SocketAddr,
}

/// What became of a command.
pub enum Answer {
    /// Done; perhaps something to tell.
    Done(Option<String>),
    /// Done, and the process is to end.
    Quit,
}

fn lock(world: &Mutex<World>) -> MutexGuard<'_, World> {
    // A thread that died leaves the world usable: every command stands alone.
    world.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Server {
    /// Opens the links and starts to listen. `quit` is called when a control
    /// client asks the reader to end.
    ///
    /// # Errors
    /// A sentence: an address that is not loopback, an unknown form, or what
    /// the system says.
    pub fn start(setup: &Setup, quit: fn()) -> Result<Self, String> {
        for address in [setup.data, setup.control] {
            if !address.ip().is_loopback() {
                return Err(format!(
                    "{address} is not a loopback address; use 127.0.0.1:0"
                ));
            }
        }
        known_form(&setup.form)?;
        let fault = |e: io::Error| e.to_string();
        let link = Link::open(setup.data, setup.pty).map_err(fault)?;
        let control = TcpListener::bind(setup.control).map_err(fault)?;
        let server = Self {
            world: Arc::new(Mutex::new(World {
                link,
                form: setup.form.clone(),
                rng: Rng::with_seed(setup.seed),
            })),
            control: control.local_addr().map_err(fault)?,
        };
        let world = Arc::clone(&server.world);
        thread::spawn(move || {
            loop {
                lock(&world).link.accept();
                thread::sleep(Duration::from_millis(10));
            }
        });
        let world = Arc::clone(&server.world);
        thread::spawn(move || {
            for client in control.incoming().flatten() {
                let world = Arc::clone(&world);
                thread::spawn(move || serve(client, &world, quit));
            }
        });
        Ok(server)
    }

    /// Drops every link and takes none any more.
    pub fn vanish(&self) {
        // Without its listener the link cannot fail to close.
        let _ = lock(&self.world).link.vanish();
    }

    /// The line that tells where everything is, as JSON.
    pub fn announcement(&self) -> String {
        let world = lock(&self.world);
        serde_json::json!({
            "data": world.link.data().to_string(),
            "control": self.control.to_string(),
            "pty": world.link.pty(),
        })
        .to_string()
    }
}

fn known_form(form: &str) -> Result<(), String> {
    if forms().iter().any(|f| f == form) {
        Ok(())
    } else {
        Err(format!(
            "no form {form:?}; there are {}",
            forms().join(", ")
        ))
    }
}

fn serve(client: TcpStream, world: &Mutex<World>, quit: fn()) {
    let Ok(mut out) = client.try_clone() else {
        return;
    };
    // Answers are small and waited for: none is held back to fill a packet.
    let _ = client.set_nodelay(true);
    for line in BufReader::new(client).lines() {
        let Ok(line) = line else { return };
        let answer = command(world, line.trim());
        let text = match &answer {
            Ok(Answer::Done(None)) | Ok(Answer::Quit) => "ok".to_owned(),
            Ok(Answer::Done(Some(more))) => format!("ok {more}"),
            Err(reason) => format!("error: {reason}"),
        };
        if out.write_all(format!("{text}\n").as_bytes()).is_err() {
            return;
        }
        if matches!(answer, Ok(Answer::Quit)) {
            quit();
        }
    }
}

/// Carries out one line of the control socket.
fn command(world: &Mutex<World>, line: &str) -> Result<Answer, String> {
    let (verb, rest) = line.split_once(' ').unwrap_or((line, ""));
    let rest = rest.trim();
    let mut world = lock(world);
    let world = &mut *world;
    match verb {
        "present" => {
            let script = script::present(&world.form, rest, &mut world.rng)?;
            play(world, &script)?;
        }
        "half" => {
            let script = script::half(&world.form, rest, &mut world.rng)?;
            play(world, &script)?;
            // What was sent arrives before the link is seen to end.
            thread::sleep(Duration::from_millis(30));
            world.link.drop_links().map_err(|e| e.to_string())?;
            return Ok(Answer::Done(world.link.pty()));
        }
        "noise" => {
            let script = script::only_noise(&world.form, &mut world.rng);
            play(world, &script)?;
        }
        "vanish" => world.link.vanish().map_err(|e| e.to_string())?,
        "return" => {
            world.link.come_back().map_err(|e| e.to_string())?;
            return Ok(Answer::Done(world.link.pty()));
        }
        "form" => {
            known_form(rest)?;
            world.form = rest.to_owned();
        }
        "quit" => return Ok(Answer::Quit),
        _ => {
            return Err(format!(
                "no command {verb:?}; there are present NUMBER, half NUMBER, noise, vanish, return, form NAME, quit"
            ));
        }
    }
    Ok(Answer::Done(None))
}

fn play(world: &mut World, script: &[Piece]) -> Result<(), String> {
    world.link.accept();
    if !world.link.present() {
        return Err("the reader has vanished; send return first".to_owned());
    }
    if !world.link.up() {
        return Err("nobody is connected to the data socket".to_owned());
    }
    for piece in script {
        thread::sleep(Duration::from_millis(u64::from(piece.after_ms)));
        world.link.send(&piece.bytes);
    }
    Ok(())
}
