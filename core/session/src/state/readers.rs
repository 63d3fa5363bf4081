//! Chip readers as the journal knows them: which is used, and what pairing found.
//! What a radio hears at the moment is in `crate::reader`.

use super::put::put;
use crate::act::ReaderCarrier;
use crate::map::Map;

/// A reader that is to be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChosenReader {
    /// What the platform knows it by.
    pub reader: String,
    /// What it calls itself.
    pub name: String,
    /// What carries its bytes.
    pub carrier: ReaderCarrier,
}

put!(ChosenReader {
    reader,
    name,
    carrier
});

/// A reader whose profile is known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PairedReader {
    /// Name and carrier.
    pub is: ChosenReader,
    /// The profile's name.
    pub profile: String,
    /// When it was paired, Unix milliseconds.
    pub at_ms: i64,
}

put!(PairedReader { is, profile, at_ms });

/// All that is kept of readers.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Readers {
    /// The list of readers is on the screen.
    pub open: bool,
    /// The one to use, which is the one used last.
    pub chosen: Option<ChosenReader>,
    /// Those paired, by what the platform knows them by.
    pub paired: Map<String, PairedReader>,
}

put!(Readers {
    open,
    chosen,
    paired
});

impl Readers {
    pub(super) fn opened(&mut self, open: bool) {
        self.open = open;
    }

    pub(super) fn choose(&mut self, reader: &str, name: &str, carrier: u8) {
        self.chosen = Some(ChosenReader {
            reader: reader.into(),
            name: name.into(),
            carrier: ReaderCarrier::of_number(carrier),
        });
    }

    pub(super) fn pair(
        &mut self,
        reader: &str,
        name: &str,
        carrier: u8,
        profile: &str,
        at_ms: i64,
    ) {
        self.choose(reader, name, carrier);
        if let Some(is) = self.chosen.clone() {
            let profile = profile.into();
            let paired = PairedReader { is, profile, at_ms };
            self.paired.insert(reader.into(), paired);
        }
    }

    /// The profile of this reader, if it was paired.
    pub fn profile(&self, reader: &str) -> Option<&str> {
        self.paired.get(reader).map(|p| p.profile.as_str())
    }
}
