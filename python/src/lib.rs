//! Python binding of underturf.
