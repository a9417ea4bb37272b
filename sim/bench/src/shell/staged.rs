//! Files and folders that appear as one set, whole or not at all.
//!
//! A set is written into a marked folder beside its place, `.NAME.….part`:
//!
//! | in it | what |
//! | --- | --- |
//! | `lock` | locked while the run that writes the set lives |
//! | `new` | the set as it grows |
//! | `kept` | what the set takes the place of, where the system can't exchange two names |
//!
//! A run that fails or is asked to stop removes the folder. One that is killed leaves it; the next
//! run that writes the same name takes the lock, since nobody holds it, puts back what is in
//! `kept` and has no other place, and removes the rest.

use std::ffi::{OsStr, OsString};
use std::fs::{self, File};
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use tempfile::Builder;

use super::unfinished;

const MARK: &str = ".part";
/// The end of the letters of a folder that is being removed.
const GONE: &str = "-gone";
const LOCK: &str = "lock";
const NEW: &str = "new";
const KEPT: &str = "kept";

/// A file on its way onto the disk.
pub type WholeFile<'a> = BufWriter<&'a File>;

/// What happens where the place of a file or folder is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taken {
    /// It is refused, and everything stays as it was.
    Refuse,
    /// The new one takes its place.
    Replace,
}

/// A set of files and folders that is being written.
#[derive(Debug)]
pub struct Staged {
    beside: PathBuf,
    folder: PathBuf,
    /// Held for as long as the set is being written.
    lock: Option<File>,
}

impl Staged {
    /// Begins a set whose places are in the folder `beside`, and removes what a killed run of the
    /// same `name` left there.
    ///
    /// # Errors
    /// What the system refuses.
    pub fn begin(beside: &Path, name: &OsStr) -> io::Result<Self> {
        remove_abandoned(beside, name)?;
        let folder = Builder::new()
            .prefix(&prefix(name))
            .suffix(MARK)
            .tempdir_in(beside)?
            .keep();
        unfinished::add(&folder);
        let mut staged = Self {
            beside: beside.to_owned(),
            folder,
            lock: None,
        };
        let lock = File::create_new(staged.folder.join(LOCK))?;
        lock.lock()?;
        staged.lock = Some(lock);
        fs::create_dir(staged.folder.join(NEW))?;
        Ok(staged)
    }

    /// Where an entry of the set is written.
    pub fn path(&self, name: impl AsRef<Path>) -> PathBuf {
        self.folder.join(NEW).join(name)
    }

    /// Makes a folder in the set.
    ///
    /// # Errors
    /// What the system refuses.
    pub fn make_folder(&self, name: impl AsRef<Path>) -> io::Result<()> {
        make_folder(&self.path(name))
    }

    /// Writes a file of the set, onto the disk.
    ///
    /// # Errors
    /// What `write` returns, and what the system refuses.
    pub fn write<E: From<io::Error>>(
        &self,
        name: impl AsRef<Path>,
        write: impl FnOnce(&mut WholeFile<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        let file = File::create_new(self.path(name))?;
        let mut out = BufWriter::new(&file);
        write(&mut out)?;
        out.flush()?;
        drop(out);
        file.sync_all()?;
        Ok(())
    }

    /// Puts every entry of the set, a file or a folder, in its place. Where one can't be put
    /// there, those before it are taken back.
    ///
    /// # Errors
    /// What the system refuses; [`ErrorKind::AlreadyExists`] where a place is taken and that is to
    /// be refused; [`ErrorKind::IsADirectory`] where a file would take the place of a folder.
    pub fn publish(self, taken: Taken) -> io::Result<()> {
        // A signal waits until the set is in place, or taken back.
        let _undisturbed = unfinished::hold();
        let mut names: Vec<OsString> = fs::read_dir(self.folder.join(NEW))?
            .map(|entry| Ok(entry?.file_name()))
            .collect::<io::Result<_>>()?;
        names.sort();
        for (at, name) in names.iter().enumerate() {
            if let Err(error) = self.put(name, taken) {
                for done in names[..at].iter().rev() {
                    self.take_back(done);
                }
                return Err(error);
            }
        }
        // The new names have to reach the disk too. Where folders can't be opened the system does
        // that by itself.
        if let Ok(folder) = File::open(&self.beside) {
            let _ = folder.sync_all();
        }
        Ok(())
    }

    fn put(&self, name: &OsStr, taken: Taken) -> io::Result<()> {
        let (new, place) = (self.path(name), self.beside.join(name));
        // Not so for a link to a folder: the link alone is replaced.
        let is_folder = fs::symlink_metadata(&place).is_ok_and(|about| about.is_dir());
        match taken {
            Taken::Refuse if new.is_dir() => put_new_folder(&new, &place),
            Taken::Refuse => put_new_file(&new, &place),
            Taken::Replace if fs::symlink_metadata(&place).is_err() => fs::rename(&new, &place),
            // Whoever names a folder where a file is to be written has mistyped, and would lose it.
            Taken::Replace if is_folder && !new.is_dir() => Err(ErrorKind::IsADirectory.into()),
            Taken::Replace if !new.is_dir() && !place.is_dir() => self.replace_file(name),
            Taken::Replace => self.replace(name),
        }
    }

    /// A file takes another's place in one step on every system; the old one is kept for
    /// [`Staged::take_back`] where it can be.
    fn replace_file(&self, name: &OsStr) -> io::Result<()> {
        let place = self.beside.join(name);
        fs::create_dir_all(self.folder.join(KEPT))?;
        let _ = fs::hard_link(&place, self.folder.join(KEPT).join(name));
        fs::rename(self.path(name), place)
    }

    fn replace(&self, name: &OsStr) -> io::Result<()> {
        let (new, place) = (self.path(name), self.beside.join(name));
        if exchange(&new, &place).is_ok() {
            return Ok(());
        }
        fs::create_dir_all(self.folder.join(KEPT))?;
        let kept = self.folder.join(KEPT).join(name);
        fs::rename(&place, &kept)?;
        fs::rename(&new, &place).inspect_err(|_| {
            let _ = fs::rename(&kept, &place);
        })
    }

    /// Undoes [`Staged::put`], as well as it can.
    fn take_back(&self, name: &OsStr) {
        let (new, place) = (self.path(name), self.beside.join(name));
        let kept = self.folder.join(KEPT).join(name);
        if fs::symlink_metadata(&new).is_ok() {
            // Exchanged: the old one is here.
            let _ = exchange(&new, &place);
        } else if fs::rename(&place, &new).is_ok() && kept.exists() {
            let _ = fs::rename(&kept, &place);
        }
    }
}

/// Makes a folder, and those that it is in.
///
/// # Errors
/// What the system refuses.
pub fn make_folder(folder: &Path) -> io::Result<()> {
    fs::create_dir_all(folder)
}

impl Drop for Staged {
    fn drop(&mut self) {
        // An open file can't be removed everywhere.
        self.lock = None;
        abandon(&self.folder, &self.beside);
        unfinished::forget(&self.folder);
    }
}

fn prefix(name: &OsStr) -> OsString {
    let mut prefix = OsString::from(".");
    prefix.push(name);
    prefix.push(".");
    prefix
}

/// A folder that takes no other's place.
fn put_new_folder(new: &Path, place: &Path) -> io::Result<()> {
    // An empty folder there is no loss; where it is not empty this fails and so does the next.
    let _ = fs::remove_dir(place);
    if fs::symlink_metadata(place).is_ok() {
        return Err(ErrorKind::AlreadyExists.into());
    }
    fs::rename(new, place).map_err(|error| match error.kind() {
        ErrorKind::DirectoryNotEmpty | ErrorKind::NotADirectory => ErrorKind::AlreadyExists.into(),
        _ => error,
    })
}

/// A file that takes no other's place.
fn put_new_file(new: &Path, place: &Path) -> io::Result<()> {
    match fs::hard_link(new, place) {
        Ok(()) => fs::remove_file(new),
        Err(error) if error.kind() == ErrorKind::AlreadyExists => Err(error),
        // No links here: take the name first, then the place.
        Err(_) => {
            File::create_new(place)?;
            fs::rename(new, place)
        }
    }
}

#[cfg(any(target_os = "linux", target_vendor = "apple"))]
fn exchange(a: &Path, b: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    Ok(renameat_with(CWD, a, CWD, b, RenameFlags::EXCHANGE)?)
}

#[cfg(not(any(target_os = "linux", target_vendor = "apple")))]
fn exchange(_: &Path, _: &Path) -> io::Result<()> {
    Err(ErrorKind::Unsupported.into())
}

/// Puts back what has no other place, and removes the rest.
pub(super) fn abandon(folder: &Path, beside: &Path) {
    let kept = fs::read_dir(folder.join(KEPT)).into_iter().flatten();
    for entry in kept.flatten() {
        let place = beside.join(entry.file_name());
        if fs::symlink_metadata(&place).is_err() {
            let _ = fs::rename(entry.path(), place);
        }
    }
    // Whoever writes into it at this moment finds it no more under its old name. Where it can't be
    // renamed new files may come meanwhile, until the folder is gone.
    let mut renamed = folder.with_extension("").into_os_string();
    renamed.push(GONE);
    renamed.push(MARK);
    let renamed = PathBuf::from(renamed);
    let folder = match fs::rename(folder, &renamed) {
        Ok(()) => renamed.as_path(),
        Err(_) => folder,
    };
    for _ in 0..100 {
        match fs::remove_dir_all(folder) {
            Err(error) if error.kind() != ErrorKind::NotFound => {
                std::thread::sleep(Duration::from_millis(2));
            }
            _ => return,
        }
    }
}

/// Removes what runs that were killed left of a set of this name.
fn remove_abandoned(beside: &Path, name: &OsStr) -> io::Result<()> {
    // Between the making of a folder and that of its lock.
    const JUST_BEGUN: Duration = Duration::from_secs(60);
    let prefix = prefix(name);
    for entry in fs::read_dir(beside)? {
        let entry = entry?;
        let found = entry.file_name();
        let found = found.as_encoded_bytes();
        let letters = found
            .strip_prefix(prefix.as_encoded_bytes())
            .and_then(|rest| rest.strip_suffix(MARK.as_bytes()));
        // The random letters hold no point: `.a.s1p.x.part` is no set called `a`.
        let is_marked = letters.is_some_and(|letters| !letters.contains(&b'.'));
        if !is_marked || !entry.file_type()?.is_dir() {
            continue;
        }
        let folder = entry.path();
        if letters.is_some_and(|letters| letters.ends_with(GONE.as_bytes())) {
            let _ = fs::remove_dir_all(&folder);
            continue;
        }
        match File::open(folder.join(LOCK)) {
            Ok(lock) if lock.try_lock().is_ok() => {
                drop(lock);
                abandon(&folder, beside);
            }
            Ok(_) => {}
            Err(_) => {
                let age = entry.metadata().and_then(|found| found.modified());
                let is_old = age.is_ok_and(|at| at.elapsed().is_ok_and(|age| age > JUST_BEGUN));
                if is_old {
                    abandon(&folder, beside);
                }
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    fn staged(folder: &Path, files: &[&str]) -> Staged {
        let staged = Staged::begin(folder, OsStr::new("set")).unwrap();
        for name in files {
            staged
                .write::<io::Error>(name, |out| out.write_all(b"new"))
                .unwrap();
        }
        staged
    }

    #[test]
    fn a_set_appears_as_one_or_not_at_all() {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path();
        staged(at, &["a", "b"]).publish(Taken::Refuse).unwrap();
        assert_eq!(names(at), ["a", "b"]);
        fs::write(at.join("b"), "mine").unwrap();
        fs::remove_file(at.join("a")).unwrap();
        let error = staged(at, &["a", "b", "c"]).publish(Taken::Refuse);
        assert_eq!(error.unwrap_err().kind(), ErrorKind::AlreadyExists);
        assert_eq!(names(at), ["b"]);
        assert_eq!(fs::read_to_string(at.join("b")).unwrap(), "mine");
        staged(at, &["a", "b", "c"])
            .publish(Taken::Replace)
            .unwrap();
        assert_eq!(names(at), ["a", "b", "c"]);
        assert_eq!(fs::read_to_string(at.join("b")).unwrap(), "new");
    }

    #[test]
    fn what_was_replaced_comes_back_where_the_rest_fails() {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path();
        fs::write(at.join("a"), "mine").unwrap();
        // A file can't take the place of a folder that holds something, nor the other way about.
        fs::create_dir_all(at.join("b/inside")).unwrap();
        let set = staged(at, &["a"]);
        fs::create_dir(set.path("c")).unwrap();
        fs::write(at.join("c"), "mine too").unwrap();
        set.publish(Taken::Refuse).unwrap_err();
        assert_eq!(names(at), ["a", "b", "c"]);
        assert_eq!(fs::read_to_string(at.join("a")).unwrap(), "mine");
        assert_eq!(fs::read_to_string(at.join("c")).unwrap(), "mine too");
    }

    #[test]
    fn a_folder_takes_the_place_of_another() {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path();
        for (round, taken) in [Taken::Refuse, Taken::Replace].into_iter().enumerate() {
            let set = Staged::begin(at, OsStr::new("report")).unwrap();
            fs::create_dir(set.path("report")).unwrap();
            set.write::<io::Error>("report/page", |out| write!(out, "{round}"))
                .unwrap();
            set.publish(taken).unwrap();
            let page = fs::read_to_string(at.join("report/page")).unwrap();
            assert_eq!(page, round.to_string());
        }
        assert_eq!(names(at), ["report"]);
        let set = Staged::begin(at, OsStr::new("report")).unwrap();
        fs::create_dir(set.path("report")).unwrap();
        let error = set.publish(Taken::Refuse).unwrap_err();
        assert_eq!(error.kind(), ErrorKind::AlreadyExists);
        assert_eq!(fs::read_to_string(at.join("report/page")).unwrap(), "1");
    }

    /// What a killed run leaves is a marked folder without a holder of its lock.
    #[test]
    fn the_next_run_removes_what_a_killed_one_left_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path();
        let dead = at.join(".set.Ab3.part");
        fs::create_dir_all(dead.join(NEW)).unwrap();
        fs::create_dir_all(dead.join(KEPT)).unwrap();
        File::create_new(dead.join(LOCK)).unwrap();
        fs::write(dead.join(NEW).join("half"), "half").unwrap();
        fs::write(dead.join(KEPT).join("mine"), "mine").unwrap();
        fs::create_dir(at.join(".set.s1p.Ab3.part")).unwrap();
        let other = staged(at, &["x"]);
        let set = staged(at, &["a"]);
        assert!(!dead.exists());
        assert!(other.path("x").exists());
        set.publish(Taken::Refuse).unwrap();
        drop(other);
        assert_eq!(names(at), [".set.s1p.Ab3.part", "a", "mine"]);
        assert_eq!(fs::read_to_string(at.join("mine")).unwrap(), "mine");
    }
}
