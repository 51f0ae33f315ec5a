#![doc = include_str!("model/equations.md")]
//!
//! # How pulse height and lag move
//!
//! Each picture is one run of `waterjacket sweep` over lesson 1.
//!
//! <style>svg[viewBox="0 0 6400 5652"] { width: 100%; height: auto; }</style>
//!
//! More air under the neck, smaller pulses, by the compliance; and a little later:
//!
#![doc = include_str!("model/air-pocket.svg")]
//!
//! Softer hoses at the jacket, smaller and much later:
//!
#![doc = include_str!("model/hose-softness.svg")]
//!
//! A longer path, later:
//!
#![doc = include_str!("model/path-length.svg")]
//!
//! A leak that lifts later passes less gas, until it passes none while cranking:
//!
#![doc = include_str!("model/lift-off.svg")]
//!
#![doc = include_str!("model/defaults.md")]
