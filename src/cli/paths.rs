//! Where skep keeps its files.

use super::trouble::Trouble;
use crate::store;
use directories::ProjectDirs;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};

/// The folders of this user.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Paths {
    /// The store.
    pub store: PathBuf,
    /// The user's own routines, yeasts and keys.
    pub config: PathBuf,
    /// Logs and what may be lost.
    pub state: PathBuf,
    /// What can be worked out again.
    pub cache: PathBuf,
}

impl Paths {
    /// The usual folders; `store` overrides where the store is.
    pub fn find(store: Option<&Path>) -> Result<Self, Trouble> {
        let dirs = ProjectDirs::from("", "", "skep").ok_or_else(|| {
            Trouble::broken(
                "there is no home folder; set HOME, or name the store with --store FILE",
            )
        })?;
        if store.is_some_and(|path| path == Path::new(":memory:")) {
            return Err(Trouble::usage(
                "':memory:' is no file: what is saved there would be lost; name a file",
            ));
        }
        Ok(Self {
            store: store.map_or_else(|| dirs.data_dir().join("skep.store"), Path::to_path_buf),
            config: dirs.config_dir().to_path_buf(),
            state: dirs
                .state_dir()
                .unwrap_or_else(|| dirs.data_local_dir())
                .to_path_buf(),
            cache: dirs.cache_dir().to_path_buf(),
        })
    }

    /// Whether a file is the store, its journal or its index.
    pub fn is_of_store(&self, file: &Path) -> bool {
        let Ok(file) = file.canonicalize() else {
            return false;
        };
        ["", "-wal", "-shm"].iter().any(|suffix| {
            let mut name = self.store.clone().into_os_string();
            name.push(suffix);
            Path::new(&name).canonicalize().is_ok_and(|own| own == file)
        })
    }

    /// Folder of the store's backups, beside it.
    pub fn backups(&self) -> PathBuf {
        store::backup_folder(&self.store)
    }

    /// Is there once somebody has answered the offer of a first round.
    pub fn round_offered(&self) -> PathBuf {
        self.state.join("round-offered")
    }

    /// File of what was said of what is in bottles, for this store.
    pub fn answers(&self) -> PathBuf {
        let store = self.store.canonicalize();
        let mut hasher = DefaultHasher::new();
        store.as_ref().unwrap_or(&self.store).hash(&mut hasher);
        self.cache.join(format!("bottles-{:016x}", hasher.finish()))
    }

    /// Folder of the user's own routines.
    pub fn routines(&self) -> PathBuf {
        self.config.join("routines")
    }

    /// File of the user's own keys.
    pub fn keys(&self) -> PathBuf {
        self.config.join("keys.toml")
    }

    /// File of the user's own ingredients.
    pub fn ingredients(&self) -> PathBuf {
        self.config.join("ingredients.toml")
    }

    /// File of the user's own yeast classes.
    pub fn yeasts(&self) -> PathBuf {
        self.config.join("yeasts.toml")
    }
}
