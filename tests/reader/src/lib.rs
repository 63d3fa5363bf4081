//! The emulated chip reader.
