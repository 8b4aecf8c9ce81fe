//! The bytes of a file, wherever it lies.

use super::folder::is_no_file;
use super::{is_address, path_of};
use object_store::path::Path as Key;
use object_store::{ObjectStore, ObjectStoreExt, parse_url_opts};
use std::collections::HashMap;
use std::io::{ErrorKind, Read};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use tokio::runtime::Runtime;

/// Largest uncompressed picture, bytes per pixel: four channels of 16 bits.
const MOST_BYTES_PER_PX: f64 = 8.0;
/// Profiles, previews and other things that stand in a file beside the pixels, bytes.
const BESIDE_THE_PIXELS: u64 = 64 << 20;

/// Why a file's bytes are not to be had, as a clause that says what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotFetched {
    /// The clause.
    pub why: String,
    /// Whether the same file may be had another time: the disk, the store or the way there failed.
    pub try_again: bool,
}

impl NotFetched {
    fn for_now(error: impl std::fmt::Display, mend: &str) -> Self {
        Self {
            why: format!("cannot be read ({error}); {mend}; the next run tries again"),
            try_again: true,
        }
    }

    fn for_good(why: String) -> Self {
        Self {
            why,
            try_again: false,
        }
    }
}

/// Reads files from disk and from object stores; each store is opened once.
#[derive(Default)]
pub struct Fetcher {
    stores: Mutex<HashMap<String, Arc<dyn ObjectStore>>>,
    runtime: OnceLock<Result<Runtime, String>>,
}

impl Fetcher {
    /// Uses a store that is already open for all addresses that begin with `root`, such as `memory:///`.
    pub fn register(&self, root: &str, store: Arc<dyn ObjectStore>) {
        self.stores
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .insert(root.to_owned(), store);
    }

    /// The bytes of a file of at most `max_megapixels`.
    ///
    /// # Errors
    /// [`NotFetched`].
    pub fn fetch(&self, location: &str, max_megapixels: f64) -> Result<Vec<u8>, NotFetched> {
        let most = (max_megapixels * 1e6 * MOST_BYTES_PER_PX) as u64 + BESIDE_THE_PIXELS;
        if is_address(location) {
            self.fetch_object(location, most)
        } else {
            fetch_file(location, most)
        }
    }

    fn fetch_object(&self, location: &str, most: u64) -> Result<Vec<u8>, NotFetched> {
        const MEND: &str = "check the address, the connection and your rights to it";
        let no_address = || NotFetched::for_good("is no address of a file in a store".into());
        let (root, key) = split(location).ok_or_else(no_address)?;
        let key = parse_key(key).map_err(|_| no_address())?;
        let for_now = |error: String| NotFetched::for_now(error, MEND);
        let store = self.store(root).map_err(for_now)?;
        let bytes = self
            .wait(async {
                let found = store.get(&key).await?;
                if found.meta.size > most {
                    return Ok(None);
                }
                found.bytes().await.map(Some)
            })
            .map_err(for_now)?;
        match bytes {
            Ok(Some(bytes)) => Ok(bytes.to_vec()),
            Ok(None) => Err(too_large(most)),
            Err(error) => Err(for_now(error.to_string())),
        }
    }

    /// The store behind the root of an address.
    pub(super) fn store(&self, root: &str) -> Result<Arc<dyn ObjectStore>, String> {
        let mut stores = self.stores.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(store) = stores.get(root) {
            return Ok(Arc::clone(store));
        }
        let url = url::Url::parse(root).map_err(|e| e.to_string())?;
        // TLS needs a provider to be named once; a second naming is refused and does no harm.
        let _ = rustls::crypto::ring::default_provider().install_default();
        let (store, _) = parse_url_opts(&url, std::env::vars()).map_err(|e| e.to_string())?;
        let store: Arc<dyn ObjectStore> = Arc::from(store);
        stores.insert(root.to_owned(), Arc::clone(&store));
        Ok(store)
    }

    /// Waits for a store's answer; only threads outside the runtime do so.
    pub(super) fn wait<T>(&self, answer: impl Future<Output = T>) -> Result<T, String> {
        let runtime = self.runtime.get_or_init(|| {
            tokio::runtime::Builder::new_multi_thread()
                .worker_threads(1)
                .enable_all()
                .build()
                .map_err(|e| e.to_string())
        });
        match runtime {
            Ok(runtime) => Ok(runtime.block_on(answer)),
            Err(why) => Err(why.clone()),
        }
    }
}

/// Root (`s3://bucket/`) and key of an address.
pub(super) fn split(address: &str) -> Option<(&str, &str)> {
    let after_scheme = address.find("://")? + 3;
    let slash = address[after_scheme..].find('/')? + after_scheme + 1;
    Some(address.split_at(slash))
}

pub(super) fn parse_key(key: &str) -> Result<Key, String> {
    Key::parse(key.trim_end_matches('/')).map_err(|e| e.to_string())
}

fn fetch_file(location: &str, most: u64) -> Result<Vec<u8>, NotFetched> {
    const MEND: &str = "check the path and permissions";
    let unreadable = |error: std::io::Error| match error.kind() {
        // Once it is there its task is another, for then its size and time are known.
        ErrorKind::NotFound => NotFetched::for_good(format!("cannot be read ({error}); {MEND}")),
        _ => NotFetched::for_now(error, MEND),
    };
    let path = path_of(location);
    if is_no_file(&path) {
        return Err(NotFetched::for_good(
            "is a pipe, a socket or a device, and no file; save the photograph as a file".into(),
        ));
    }
    let file = std::fs::File::open(path).map_err(unreadable)?;
    let mut bytes = Vec::new();
    file.take(most + 1)
        .read_to_end(&mut bytes)
        .map_err(unreadable)?;
    if bytes.len() as u64 > most {
        return Err(too_large(most));
    }
    Ok(bytes)
}

fn too_large(most: u64) -> NotFetched {
    NotFetched::for_good(format!(
        "is over {} megabytes, more than a picture within the limit can be; raise --max-megapixels, or photograph or scan a smaller part",
        most / 1_000_000
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_fall_apart_into_root_and_key() {
        assert_eq!(split("s3://b/a/c.jpg"), Some(("s3://b/", "a/c.jpg")));
        assert_eq!(split("file:///tmp/c.jpg"), Some(("file:///", "tmp/c.jpg")));
        assert_eq!(split("s3://b"), None);
    }

    #[test]
    fn a_file_over_the_limit_is_not_taken_in() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("x.jpg");
        let sparse = std::fs::File::create(&file).unwrap();
        sparse.set_len(BESIDE_THE_PIXELS + 9_000_000).unwrap();
        let fetcher = Fetcher::default();
        let path = file.to_str().unwrap();
        let over = fetcher.fetch(path, 1.0).unwrap_err();
        assert!(over.why.contains("megabytes") && !over.try_again);
        assert!(fetcher.fetch(path, 2.0).is_ok());
    }

    #[cfg(unix)]
    #[test]
    fn what_is_no_file_is_not_opened() {
        let folder = tempfile::tempdir().unwrap();
        let pipe = folder.path().join("x.jpg");
        let made = std::process::Command::new("mkfifo").arg(&pipe).status();
        assert!(made.unwrap().success());
        for place in [pipe.to_str().unwrap(), "/dev/zero"] {
            let refused = Fetcher::default().fetch(place, 1.0).unwrap_err();
            assert!(refused.why.contains("a pipe") && !refused.try_again);
        }
    }

    #[test]
    fn what_fails_on_the_way_is_told_from_what_is_not_there() {
        let fetcher = Fetcher::default();
        let missing = fetcher.fetch("/no/such.jpg", 1.0).unwrap_err();
        assert!(missing.why.contains("cannot be read") && !missing.try_again);
        // Nobody listens at port 9 of this machine.
        let store = object_store::aws::AmazonS3Builder::new()
            .with_endpoint("http://127.0.0.1:9")
            .with_allow_http(true)
            .with_bucket_name("museum")
            .with_region("eu")
            .with_access_key_id("nobody")
            .with_secret_access_key("nothing")
            .with_retry(object_store::RetryConfig {
                max_retries: 0,
                ..Default::default()
            });
        let _ = rustls::crypto::ring::default_provider().install_default();
        fetcher.register("s3://museum/", Arc::new(store.build().unwrap()));
        let unreached = fetcher.fetch("s3://museum/a.jpg", 1.0).unwrap_err();
        assert!(
            unreached.why.contains("the next run tries again"),
            "{}",
            unreached.why
        );
        assert!(unreached.try_again);
    }
}
