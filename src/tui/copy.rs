//! The day's copy of the store, made behind the first picture.

use super::run::Incoming;
use crate::app::Msg;
use crate::clock;
use crate::store::Store;
use crate::work;
use std::path::PathBuf;
use std::sync::mpsc::Sender;
use std::thread::{self, JoinHandle};

/// Copying reads the whole store, seconds for years of a logger's data: nobody
/// waits for it but who leaves meanwhile.
pub(super) struct DayCopy {
    wanted: Option<(PathBuf, PathBuf)>,
    running: Option<JoinHandle<()>>,
    out: Sender<Incoming>,
}

impl DayCopy {
    /// Of that store into that folder, if there is one.
    pub(super) fn of(store: PathBuf, folder: Option<PathBuf>, out: Sender<Incoming>) -> Self {
        Self {
            wanted: folder.map(|folder| (store, folder)),
            running: None,
            out,
        }
    }

    /// Begins it, once.
    pub(super) fn begin(&mut self) {
        let Some((store, folder)) = self.wanted.take() else {
            return;
        };
        let out = self.out.clone();
        let copy = move || {
            let now = clock::now();
            let made = Store::open(&store, now)
                .and_then(|store| work::daily_copy(&store, &folder, now).map(drop));
            if let Err(error) = made {
                // A closed channel means that the loop has ended.
                let _ = out.send(Incoming::Msg(Msg::Trouble(error.to_string())));
            }
        };
        // Where no thread can be had, the next write from the shell copies.
        self.running = thread::Builder::new().name("copy".into()).spawn(copy).ok();
    }

    /// Waits for its end, so that no half copy is left.
    pub(super) fn finish(self) {
        if let Some(running) = self.running {
            let _ = running.join();
        }
    }
}
