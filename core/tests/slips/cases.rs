//! Single slips by name.
