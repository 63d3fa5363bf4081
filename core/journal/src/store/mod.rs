//! The SQLite file that keeps a journal on the device.
