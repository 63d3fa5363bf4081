//! Checks that cross parts: published tables, vectors, recorded sessions, the emulated reader.
