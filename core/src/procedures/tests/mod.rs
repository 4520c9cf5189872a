//! Tests of the procedures.

mod data;
mod desk;
mod fit;
mod logbook;
mod operator;
mod outcome;
mod random;
mod script;
mod state;
mod two_tablets;
