//go:build !(darwin || dragonfly || freebsd || illumos || linux || netbsd || openbsd || windows)

package output

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// lock makes the lock file path, which must not exist; the function it returns
// removes it. On these systems a killed run leaves it behind.
func lock(path string) (unlock func() error, err error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return nil, fmt.Errorf("%w: if no other run is at work, remove %s", errLocked, path)
	}
	if err != nil {
		return nil, err
	}
	return func() error { return errors.Join(f.Close(), os.Remove(path)) }, nil
}
