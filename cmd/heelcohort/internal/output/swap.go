package output

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Commit puts the folder in the place of the results folder. Before the
// manifest is written it refuses. When it fails, the old results are back in
// their place; the folder aside is then removed.
func (s *Stage) Commit() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	switch {
	case s.done:
		return errors.New("results folder: already written or given up")
	case !s.sealed:
		return errors.New("results folder: the manifest is not written")
	}
	s.done = true
	if err := s.swap(); err != nil {
		return errors.Join(fmt.Errorf("results folder: %w", err), clearAside(s.aside), s.unlock())
	}
	return s.unlock()
}

// swap moves the old folder out of the way and the new one in.
func (s *Stage) swap() error {
	there, err := replaceable(s.dir)
	if err != nil {
		return err
	}
	if err := os.Remove(filepath.Join(s.aside, markName)); err != nil {
		return err
	}
	old := asideName(s.dir, "old")
	if there {
		if err := os.Rename(s.dir, old); err != nil {
			return fmt.Errorf("the old results cannot be moved, is a file in them open?: %w", err)
		}
	}
	if err := os.Rename(s.aside, s.dir); err != nil {
		if there {
			err = errors.Join(err, os.Rename(old, s.dir))
		}
		return err
	}
	syncFolder(filepath.Dir(s.dir))
	if there {
		// The new results are in place. What cannot be removed now (an open
		// file on some systems) is removed by the next Begin.
		_ = removeLast(old, manifestName)
	}
	return nil
}

// Abort removes the folder aside and leaves the results as they were. After
// Commit, or another Abort, it does nothing.
func (s *Stage) Abort() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.done {
		return nil
	}
	s.done = true
	return errors.Join(clearAside(s.aside), s.unlock())
}

// replaceable reports whether dir exists. It is an error when dir is not a
// folder, or holds anything without the manifest that this program writes.
func replaceable(dir string) (exists bool, err error) {
	info, err := os.Lstat(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	if !info.IsDir() {
		return true, fmt.Errorf("%s is not a folder; it is not replaced", filepath.Base(dir))
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return true, err
	}
	if len(entries) > 0 && !holdsFile(dir, manifestName) {
		return true, fmt.Errorf("%s was not written by this program: it has no %s; move it away or name another folder",
			filepath.Base(dir), manifestName)
	}
	return true, nil
}

// recoverOld ends a swap that was interrupted: it puts old results back when
// nothing has taken their place, and removes them otherwise.
func recoverOld(dir string) error {
	old := asideName(dir, "old")
	there, err := replaceable(old)
	if err != nil || !there {
		return err
	}
	if _, err := os.Lstat(dir); errors.Is(err, fs.ErrNotExist) {
		return os.Rename(old, dir)
	}
	return removeLast(old, manifestName)
}

// clearAside removes a folder aside that this program left: empty, marked, or
// whole with its manifest.
func clearAside(aside string) error {
	entries, err := os.ReadDir(aside)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	switch {
	case len(entries) == 0:
		return os.Remove(aside)
	case holdsFile(aside, markName):
		return removeLast(aside, markName)
	case holdsFile(aside, manifestName):
		return removeLast(aside, manifestName)
	}
	return fmt.Errorf("%s was not written by this program; move it away", filepath.Base(aside))
}

// holdsFile reports whether dir holds a regular file of that name.
func holdsFile(dir, name string) bool {
	info, err := os.Lstat(filepath.Join(dir, name))
	return err == nil && info.Mode().IsRegular()
}

// removeLast removes dir, the file last in it after everything else, so that a
// removal that is interrupted leaves a folder that is still known as ours.
func removeLast(dir, last string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if e.Name() != last {
			if err := os.RemoveAll(filepath.Join(dir, e.Name())); err != nil {
				return err
			}
		}
	}
	return os.RemoveAll(dir)
}

// syncFolder asks the system to keep the renames, where it can be asked.
func syncFolder(dir string) {
	if f, err := os.Open(dir); err == nil {
		_ = f.Sync() // not every file system can; the renames are done either way
		_ = f.Close()
	}
}
