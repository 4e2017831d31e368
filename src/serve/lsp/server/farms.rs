//! Farms and texts as editors open, change and close them.
//!
//! Comes in: names, folders and texts. Goes out: tasks for the checker, and what is known of each farm. It
//! says no finding.

use std::{collections::BTreeMap, path::PathBuf, sync::Arc};

use lsp_server::ErrorCode;
use lsp_types::Uri;
use serde_json::json;

use super::{Seen, Server};
use crate::{
    read::Farm,
    serve::lsp::{
        checker::{Task, What},
        docs::{self, Doc, Root},
        uri,
    },
};

impl Server<'_> {
    pub(super) fn open(&mut self, uri: String, version: i32, text: String) {
        let path = uri::path(&uri);
        let mut farms: Vec<(u32, String, usize)> = Vec::new();
        for (number, seen) in &self.farms {
            let name = path.as_ref().and_then(|p| seen.root.name_of(p));
            farms.extend(name.map(|name| {
                let length = name.len();
                (*number, name, length)
            }));
        }
        // The innermost folder answers for it, where its name is shortest.
        farms.sort_by_key(|(number, _, length)| (*length, *number));
        let mut farms: Vec<(u32, String)> = farms.into_iter().map(|(n, name, _)| (n, name)).collect();
        if farms.is_empty() {
            let (farm, root, name) = match path.as_deref().and_then(docs::alone) {
                Some((farm, root, name)) => (Some(farm), root, name),
                None => (None, Root::Nowhere, "unsaved.md".to_owned()),
            };
            farms.push((self.open_farm(farm, root), name));
        }
        self.docs.insert(uri.clone(), Doc { version, text, farms });
        self.tell_text(&uri);
    }

    pub(super) fn close(&mut self, uri: &str) {
        let Some(doc) = self.docs.remove(uri) else { return };
        self.pulled.remove(uri);
        for (farm, name) in doc.farms {
            match self.farms.get(&farm).map(|s| &s.root) {
                Some(Root::Folder(_)) => self.tell(farm, What::LetGo(name.into())),
                Some(_) => self.close_farm(farm),
                None => {}
            }
        }
    }

    pub(super) fn open_folder(&mut self, folder: PathBuf) {
        if !self.farms.values().any(|s| s.root == Root::Folder(folder.clone())) {
            self.open_farm(Some(Farm::at(&folder)), Root::Folder(folder));
        }
    }

    pub(super) fn open_farm(&mut self, farm: Option<Farm>, root: Root) -> u32 {
        let number = self.next_farm;
        self.next_farm += 1;
        let mut progress = None;
        if self.client.progress && matches!(root, Root::Folder(_)) {
            let token = self.asked + 1;
            self.ask_client("window/workDoneProgress/create", json!({ "token": token }));
            self.progress(token, json!({ "kind": "begin", "title": "reading the journal" }));
            progress = Some(token);
        }
        self.farms.insert(number, Seen { root, revision: 0, round: None, progress, hinted: Vec::new() });
        self.tell(number, What::Open(farm));
        number
    }

    pub(super) fn close_farm(&mut self, number: u32) {
        let Some(seen) = self.farms.remove(&number) else { return };
        let _ = self.tasks.send(Task { farm: number, revision: 0, what: What::Close });
        if let Some(token) = seen.progress {
            self.progress(token, json!({ "kind": "end" }));
        }
        if let Some((_, round)) = seen.round {
            for uri in round.files().filter_map(|id| round.uri(id)) {
                self.push(&uri, Vec::new());
            }
        }
        for waiting in std::mem::take(&mut self.waiting) {
            if waiting.farm == Some(number) {
                self.refuse(waiting.request.id, ErrorCode::ContentModified, "the file was closed");
            } else {
                self.waiting.push(waiting);
            }
        }
    }

    pub(super) fn change_folders(&mut self, gone: &[PathBuf], come: Vec<PathBuf>) {
        let held: Vec<(String, Doc)> = std::mem::take(&mut self.docs).into_iter().collect();
        for (uri, doc) in &held {
            self.docs.insert(uri.clone(), doc.clone());
            self.close(uri);
        }
        let closing: Vec<u32> = self
            .farms
            .iter()
            .filter(|(_, s)| matches!(&s.root, Root::Folder(f) if gone.contains(f)))
            .map(|(n, _)| *n)
            .collect();
        for number in closing {
            self.close_farm(number);
        }
        for folder in come {
            self.open_folder(folder);
        }
        for (uri, doc) in held {
            self.open(uri, doc.version, doc.text);
        }
        // A folder that stays may answer for files that another answered for.
        let stay: Vec<u32> = self.farms.keys().copied().collect();
        for number in stay {
            self.tell(number, What::Look);
        }
    }

    pub(super) fn tell_text(&mut self, uri: &str) {
        let Some(doc) = self.docs.get(uri) else { return };
        let text: Arc<str> = doc.text.as_str().into();
        for (farm, name) in doc.farms.clone() {
            self.tell(farm, What::Text(name.into(), Arc::clone(&text)));
        }
    }

    pub(super) fn tell(&mut self, farm: u32, what: What) {
        if let Some(seen) = self.farms.get_mut(&farm) {
            seen.revision += 1;
            // If the checker is gone there is nothing to tell, and the conversation ends by itself.
            let _ = self.tasks.send(Task { farm, revision: seen.revision, what });
        }
    }

    /// The farm that answers for a file, and the file's name there.
    pub(super) fn find(&self, uri: &str) -> Option<(u32, String)> {
        if let Some(doc) = self.docs.get(uri) {
            return doc.farms.first().cloned();
        }
        let path = uri::path(uri)?;
        let named = self.farms.iter().filter_map(|(n, seen)| Some((*n, seen.root.name_of(&path)?)));
        named.min_by_key(|(n, name)| (name.len(), *n))
    }

    /// The files of a farm that the editor holds, with its own names for them.
    pub(super) fn open_names(&self, farm: u32) -> BTreeMap<Arc<str>, Uri> {
        let held = self.docs.iter().flat_map(|(uri, doc)| doc.farms.iter().map(move |f| (uri, f)));
        let here = held.filter(|(_, (number, _))| *number == farm);
        here.filter_map(|(uri, (_, name))| Some((name.as_str().into(), uri.parse().ok()?))).collect()
    }
}
