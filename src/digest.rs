//! SHA-256, by which a truth knows its WAV again.

use sha2::{Digest, Sha256};
use std::io::{self, Read, Write};

/// SHA-256 of all that `reader` still holds, as 64 lower-case hexadecimal digits.
pub fn sha256_hex(mut reader: impl Read) -> io::Result<String> {
    let mut hasher = Sha256::new();
    let mut block = vec![0; 1 << 16];
    loop {
        match reader.read(&mut block) {
            Ok(0) => break,
            Ok(n) => hasher.update(&block[..n]),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
    Ok(hex(&hasher.finalize()))
}

/// SHA-256 of `bytes`, as 64 lower-case hexadecimal digits.
pub fn sha256(bytes: impl AsRef<[u8]>) -> String {
    hex(&Sha256::digest(bytes))
}

/// Takes the digest of all that passes on its way to `W`.
pub struct Hashed<W> {
    out: W,
    digest: Sha256,
}

impl<W> Hashed<W> {
    /// Nothing has passed yet.
    pub fn new(out: W) -> Self {
        let digest = Sha256::new();
        Hashed { out, digest }
    }

    /// The digest as lower-case hexadecimal digits.
    pub fn hex(self) -> String {
        hex(&self.digest.finalize())
    }
}

impl<W: Write> Write for Hashed<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let n = self.out.write(bytes)?;
        self.digest.update(&bytes[..n]);
        Ok(n)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

/// Bytes as lower-case hexadecimal digits.
fn hex(bytes: &[u8]) -> String {
    let mut hex = String::with_capacity(2 * bytes.len());
    for byte in bytes {
        use std::fmt::Write;
        write!(hex, "{byte:02x}").expect("a String takes all that is written to it");
    }
    hex
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The one-block and the empty message of NIST's examples for FIPS 180-4, from memory, and
    /// both confirmed with Python's `hashlib`.
    #[test]
    fn published_digests_come_out() {
        for (message, digest) in [
            (
                "abc",
                "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
            ),
            (
                "",
                "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
            ),
        ] {
            assert_eq!(sha256_hex(message.as_bytes()).unwrap(), digest);
            assert_eq!(sha256(message), digest);
        }
    }

    #[test]
    fn blocks_add_up() {
        let bytes = vec![7_u8; 200_001];
        let whole: String = Sha256::digest(&bytes)
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect();
        assert_eq!(sha256_hex(&bytes[..]).unwrap(), whole);
    }
}
