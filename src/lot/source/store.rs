//! An object store: S3 and what speaks like it, a folder as `file://`, memory in tests.

use super::fetch::{parse_key, split};
use super::{Fetcher, Found, Listing, SourceError, is_picture_name};
use futures_util::{StreamExt, TryStreamExt, stream};
use object_store::{ObjectMeta, ObjectStore, ObjectStoreExt};

/// Files of a list that a store is asked about at once.
const ASKED_AT_ONCE: usize = 16;
/// What stands for the state of a file that is not there.
const MISSING: &str = "missing";

/// Photographs whose address begins with the one given.
pub fn list(address: &str, fetcher: &Fetcher) -> Result<Listing, SourceError> {
    let none = |why: String| SourceError::NoStore {
        place: address.to_owned(),
        why,
    };
    let whole = if split(address).is_some() {
        address.to_owned()
    } else {
        format!("{address}/")
    };
    let (root, prefix) = split(&whole).ok_or_else(|| none("it is no address".into()))?;
    let store = fetcher.store(root).map_err(none)?;
    let key = parse_key(prefix).map_err(none)?;
    let within = (!key.as_ref().is_empty()).then_some(&key);
    let found: Vec<ObjectMeta> = fetcher
        .wait(store.list(within).try_collect())
        .map_err(none)?
        .map_err(|error: object_store::Error| none(error.to_string()))?;
    let mut listing = Listing::default();
    for object in found {
        let path = object.location.as_ref();
        let name = path.strip_prefix(key.as_ref()).unwrap_or(path);
        let name = name.trim_start_matches('/').to_owned();
        if name.split('/').any(|part| part.starts_with('.')) {
            continue;
        }
        if is_picture_name(&name) {
            listing.photos.push(Found {
                location: format!("{root}{path}"),
                stamp: stamp(&object),
                name,
            });
        } else {
            listing.left_alone.push(name);
        }
    }
    Ok(listing)
}

/// What tells one state of each file from another, by its address, asked of the stores. A file that is not there
/// or is refused has a row that says so; where a store gives no answer, or refuses all, nobody knows whether its files
/// have changed.
///
/// # Errors
/// [`SourceError::NoStore`] for the first such address.
pub fn stamps(addresses: &[String], fetcher: &Fetcher) -> Result<Vec<String>, SourceError> {
    let asked = addresses.iter().map(|address| {
        let none = |why: String| SourceError::NoStore {
            place: address.to_owned(),
            why,
        };
        let place = split(address).and_then(|(root, key)| Some((root, parse_key(key).ok()?)));
        let place = place.map(|(root, key)| Ok((fetcher.store(root).map_err(none)?, key)));
        async move {
            // What is no address of a file is found out once it is to be read.
            let Some((store, key)) = place.transpose()? else {
                return Ok(Ok(MISSING.to_owned()));
            };
            match store.head(&key).await {
                Ok(object) => Ok(Ok(stamp(&object))),
                Err(object_store::Error::NotFound { .. }) => Ok(Ok(MISSING.to_owned())),
                Err(error) if is_refusal(&error) => Ok(Err(none(error.to_string()))),
                Err(error) => Err(none(error.to_string())),
            }
        }
    });
    let answers = stream::iter(asked).buffered(ASKED_AT_ONCE).try_collect();
    let answers: Vec<Result<String, SourceError>> =
        fetcher.wait(answers).map_err(|why| SourceError::NoStore {
            place: addresses.join(", "),
            why,
        })??;
    if answers.iter().all(Result::is_err) {
        return answers.into_iter().collect();
    }
    let answers = answers.into_iter();
    Ok(answers
        .map(|a| a.unwrap_or_else(|_| MISSING.to_owned()))
        .collect())
}

/// Whether a store has answered that this user may not have a file.
fn is_refusal(error: &object_store::Error) -> bool {
    use object_store::Error::{PermissionDenied, Unauthenticated};
    matches!(error, PermissionDenied { .. } | Unauthenticated { .. })
}

fn stamp(object: &ObjectMeta) -> String {
    match &object.e_tag {
        Some(tag) => format!("{}-{tag}", object.size),
        None => format!(
            "{}-{}",
            object.size,
            object.last_modified.timestamp_micros()
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use object_store::memory::InMemory;
    use std::sync::Arc;

    #[test]
    fn a_store_in_memory_is_listed_and_read() {
        let fetcher = Fetcher::default();
        let store = Arc::new(InMemory::new());
        for name in ["estate/box 1/a é.jpg", "estate/notes.txt", "other/b.jpg"] {
            fetcher
                .wait(store.put(&parse_key(name).unwrap(), "bytes".into()))
                .unwrap()
                .unwrap();
        }
        fetcher.register("memory:///", store);
        let listing = list("memory:///estate", &fetcher).unwrap();
        let names: Vec<_> = listing.photos.iter().map(|f| f.name.as_str()).collect();
        assert_eq!(names, ["box 1/a é.jpg"]);
        assert_eq!(listing.left_alone, ["notes.txt"]);
        assert_eq!(
            fetcher.fetch(&listing.photos[0].location, 1.0).unwrap(),
            b"bytes"
        );
        assert!(fetcher.fetch("memory:///estate/none.jpg", 1.0).is_err());
        assert!(list("nowhere://x/y", &fetcher).is_err());
    }

    #[test]
    fn a_listed_file_that_was_replaced_is_another_and_a_store_without_answer_ends_the_listing() {
        let fetcher = Fetcher::default();
        let store = Arc::new(InMemory::new());
        let put = |text: &'static str| {
            let key = parse_key("estate/rose.jpg").unwrap();
            let done = fetcher.wait(store.put(&key, text.into()));
            done.unwrap().unwrap();
        };
        fetcher.register("memory:///", Arc::clone(&store) as Arc<dyn ObjectStore>);
        let addresses = ["rose", "none"].map(|name| format!("memory:///estate/{name}.jpg"));
        put("a rose");
        let before = stamps(&addresses, &fetcher).unwrap();
        assert_eq!(before, stamps(&addresses, &fetcher).unwrap());
        put("a ruse");
        let after = stamps(&addresses, &fetcher).unwrap();
        assert_ne!(before[0], after[0]);
        assert_eq!((&before[1][..], &after[1][..]), (MISSING, MISSING));
        // As a folder that holds it tells it.
        let listed = list("memory:///estate", &fetcher).unwrap();
        assert_eq!(listed.photos[0].stamp, after[0]);
        let unknown = ["nowhere://x/y.jpg".to_owned()];
        let error = stamps(&unknown, &fetcher).unwrap_err().to_string();
        assert!(error.contains("nowhere://x/y.jpg"), "{error}");
    }

    #[test]
    fn a_folder_by_its_address_holds_the_same_names() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("box 1")).unwrap();
        std::fs::write(folder.path().join("box 1/a é.jpg"), "bytes").unwrap();
        let address = format!("file://{}", folder.path().display());
        let fetcher = Fetcher::default();
        let listing = list(&address, &fetcher).unwrap();
        assert_eq!(listing.photos[0].name, "box 1/a é.jpg");
        assert_eq!(
            fetcher.fetch(&listing.photos[0].location, 1.0).unwrap(),
            b"bytes"
        );
    }
}
