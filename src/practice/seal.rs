//! The sealed file of a job: what the student is not to see by a glance or a search.
//!
//! It is a curtain, not a lock. The bytes are added, modulo 2, to a keystream that anyone with this
//! source can make again. The file is a nonce of 16 bytes, which is also the check of the rest, and
//! the veiled JSON.

use super::job::Hidden;
use crate::digest::sha256_hex;
use crate::error::Fault;
use crate::random::Stream;

/// Bytes before the veiled text.
const NONCE: usize = 16;

/// The sealed bytes of what is hidden.
pub fn seal(hidden: &Hidden) -> Result<Vec<u8>, Fault> {
    let text =
        serde_json::to_vec(hidden).map_err(|e| Fault::new("the job", e, "start another job"))?;
    let mut bytes = nonce(&text);
    let veiled = veil(&bytes, &text);
    bytes.extend(veiled);
    Ok(bytes)
}

/// What the sealed bytes of `place` hide.
///
/// # Errors
/// Bytes that were cut or changed.
pub fn unseal(place: &str, bytes: &[u8]) -> Result<Hidden, Fault> {
    let broken = |problem: &str| {
        let remedy = "it cannot be mended: start the job again in another folder";
        Fault::new(place, problem, remedy)
    };
    if bytes.len() <= NONCE {
        return Err(broken("the sealed file is cut short"));
    }
    let (head, veiled) = bytes.split_at(NONCE);
    let text = veil(head, veiled);
    if nonce(&text) != head {
        return Err(broken("the sealed file was changed"));
    }
    serde_json::from_slice(&text).map_err(|_| broken("the sealed file is of another version"))
}

fn nonce(text: &[u8]) -> Vec<u8> {
    let named = [b"waterjacket practice 1/".as_slice(), text].concat();
    // Reading from memory does not fail.
    let digest = sha256_hex(named.as_slice()).unwrap_or_default();
    let pair = |pair: &[u8]| {
        let digit = |c: u8| (c as char).to_digit(16).unwrap_or(0) as u8;
        digit(pair[0]) << 4 | digit(pair[1])
    };
    digest.as_bytes().chunks(2).take(NONCE).map(pair).collect()
}

fn veil(nonce: &[u8], text: &[u8]) -> Vec<u8> {
    let mut stream = Stream::new(0, 0, &format!("practice seal {nonce:?}"));
    text.iter().map(|b| b ^ stream.below(256) as u8).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn hidden(seed: u64) -> Hidden {
        Hidden {
            job: "a".into(),
            seed,
            vehicle: json!({"name": "Pellworth"}),
            faults: json!({"leaks": [{"cylinder": 3}]}),
            test: json!({}),
        }
    }

    #[test]
    fn what_is_sealed_comes_back_and_is_not_read_by_eye() {
        let bytes = seal(&hidden(5)).unwrap();
        assert_eq!(unseal("s", &bytes), Ok(hidden(5)));
        for word in ["leaks", "cylinder", "Pellworth", "seed"] {
            assert!(!bytes.windows(word.len()).any(|w| w == word.as_bytes()));
        }
        let other = seal(&hidden(6)).unwrap();
        let same = bytes.iter().zip(&other).filter(|(a, b)| a == b).count();
        assert!(same < bytes.len() / 8, "{same}");
    }

    #[test]
    fn a_changed_byte_is_a_fault() {
        let bytes = seal(&hidden(5)).unwrap();
        for i in [0, NONCE, bytes.len() - 1] {
            let mut changed = bytes.clone();
            changed[i] ^= 1;
            assert!(unseal("s", &changed).is_err());
        }
        assert!(unseal("s", &bytes[..NONCE]).is_err());
        assert!(unseal("s", &[]).is_err());
    }
}
