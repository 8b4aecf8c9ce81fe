//! An object store: S3 and what speaks like it, a folder as `file://`, memory in tests.

use super::fetch::{parse_key, split};
use super::{Fetcher, Found, Listing, SourceError, is_picture_name};
use futures_util::TryStreamExt;
use object_store::{ObjectMeta, ObjectStore};

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
    use object_store::ObjectStoreExt;
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
