//! The service that takes returns in.
