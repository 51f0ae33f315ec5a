//! The physics and the statistics against the tables in this directory.
//!
//! The tables come from general-purpose libraries and closed forms (`make.py`); each names its library,
//! version, formula and source in its head. Nothing here needs Python.

mod bench;
mod coolant;
mod cranking;
mod cylinder;
mod gas;
mod signals;
mod sound;
mod statistics;
mod table;
