//! Pictures of captures: data in, picture out.
