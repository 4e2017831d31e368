//! Diagnostics, pushed as they change or given when asked for.
//!
//! Comes in: the last check of a farm. Goes out: what changed for each file since it was last told. What a
//! client asks about itself is not pushed as well.

use std::collections::BTreeSet;

use lsp_server::Notification;
use lsp_types::{Diagnostic, Uri};
use serde_json::{Value, json};

use super::Server;
use crate::serve::lsp::{
    answer::{self, Fault},
    hints, said,
};

impl Server<'_> {
    /// Pushes what changed, for files that the client does not ask about itself.
    pub(super) fn publish(&mut self, farm: u32) {
        let shown = self.diagnostics(farm);
        for (uri, list) in shown {
            if !self.owns(farm, &uri) {
                continue;
            }
            if !(self.client.pulls && self.docs.contains_key(uri.as_str())) {
                self.push(&uri, list);
            } else if self.pushed.get(uri.as_str()).is_some_and(|(_, was)| !was.is_empty()) {
                // What was pushed before the file was opened is asked for from now on.
                self.push(&uri, Vec::new());
            }
        }
        // Files that are gone have nothing to show any more.
        let there: BTreeSet<String> = self
            .farms
            .values()
            .filter_map(|s| s.round.as_ref())
            .flat_map(|(_, r)| r.files().filter_map(|id| r.uri(id)))
            .map(|u| u.as_str().to_owned())
            .collect();
        let all_read = self.farms.values().all(|s| s.round.is_some());
        let gone: Vec<String> =
            self.pushed.keys().filter(|u| all_read && !there.contains(*u)).cloned().collect();
        for uri in gone {
            if let Ok(uri) = uri.parse::<Uri>() {
                self.push(&uri, Vec::new());
            }
        }
    }

    /// Tells a client that asks for diagnostics to ask again, if what it was given last is no longer so.
    pub(super) fn refresh(&mut self, farm: u32) {
        if self.client.pulls {
            let shown = self.diagnostics(farm);
            let stale = |(uri, now): &(Uri, Vec<Diagnostic>)| {
                self.pulled.get(uri.as_str()).is_some_and(|was| was != now)
            };
            if shown.iter().any(stale) {
                for (uri, now) in shown {
                    if let Some(was) = self.pulled.get_mut(uri.as_str()) {
                        *was = now;
                    }
                }
                self.ask_client("workspace/diagnostic/refresh", Value::Null);
            }
        }
        // Of its own typing a client knows; hints may also change for what is typed elsewhere.
        if self.client.refreshes_hints
            && let Some(seen) = self.farms.get_mut(&farm)
            && let Some((_, round)) = &seen.round
        {
            let now = hints::what_they_say(round);
            if seen.hinted != now {
                seen.hinted = now;
                self.ask_client("workspace/inlayHint/refresh", Value::Null);
            }
        }
    }

    /// Whether a farm is the one that answers for a file: the innermost folder.
    pub(super) fn owns(&self, farm: u32, uri: &Uri) -> bool {
        self.find(uri.as_str()).is_none_or(|(owner, _)| owner == farm)
    }

    /// The diagnostics of each of a farm's files, as they were last found.
    pub(super) fn diagnostics(&self, farm: u32) -> Vec<(Uri, Vec<Diagnostic>)> {
        let round = self.farms.get(&farm).and_then(|s| s.round.as_ref());
        let Some((_, round)) = round else { return Vec::new() };
        let by_file = said::by_file(round).into_iter();
        by_file.filter_map(|(id, list)| Some((round.uri(id)?, list))).collect()
    }

    pub(super) fn push(&mut self, uri: &Uri, list: Vec<Diagnostic>) {
        let version = self.docs.get(uri.as_str()).map(|d| d.version);
        let before = self.pushed.get(uri.as_str());
        let same = match before {
            Some((at, was)) => *at == version && *was == list,
            None => list.is_empty() && version.is_none(),
        };
        if same {
            return;
        }
        let params = json!({ "uri": uri, "version": version, "diagnostics": list });
        if list.is_empty() && version.is_none() {
            self.pushed.remove(uri.as_str());
        } else {
            self.pushed.insert(uri.as_str().to_owned(), (version, list));
        }
        let mut params = params;
        if let (None, Some(object)) = (version, params.as_object_mut()) {
            object.remove("version");
        }
        self.send(Notification::new("textDocument/publishDiagnostics".to_owned(), params));
    }

    pub(super) fn pull(&mut self, params: &Value) -> Result<Value, Fault> {
        let uri = params.pointer("/textDocument/uri").and_then(Value::as_str).unwrap_or_default().to_owned();
        let before = params.get("previousResultId").and_then(Value::as_str);
        let list = self.find(&uri).and_then(|(farm, _)| {
            self.diagnostics(farm).into_iter().find(|(u, _)| u.as_str() == uri).map(|(_, list)| list)
        });
        let list = list.unwrap_or_default();
        let report = answer::report(&list, before);
        self.pulled.insert(uri, list);
        Ok(report)
    }

    pub(super) fn pull_all(&self) -> Value {
        let mut items = Vec::new();
        for farm in self.farms.keys() {
            for (uri, list) in self.diagnostics(*farm) {
                if self.owns(*farm, &uri) {
                    let mut report = answer::report(&list, None);
                    report["uri"] = json!(uri);
                    report["version"] = json!(self.docs.get(uri.as_str()).map(|d| d.version));
                    items.push(report);
                }
            }
        }
        json!({ "items": items })
    }
}
