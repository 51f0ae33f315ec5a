//! Guides for the three users, and the words.

#[doc = include_str!("guide/instructor.md")]
pub mod instructor {}

#[doc = include_str!("guide/student.md")]
pub mod student {}

#[doc = include_str!("guide/developer.md")]
pub mod developer {}

#[doc = include_str!("guide/glossary.md")]
pub mod glossary {}
