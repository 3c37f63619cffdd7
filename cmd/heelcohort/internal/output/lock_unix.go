//go:build darwin || dragonfly || freebsd || illumos || linux || netbsd || openbsd

package output

import (
	"errors"
	"os"
	"syscall"
)

// lock takes the lock file path; the function it returns gives it back. The
// system gives it back when the process ends in any other way.
func lock(path string) (unlock func() error, err error) {
	for {
		f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o666)
		if err != nil {
			return nil, err
		}
		if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
			_ = f.Close()
			if errors.Is(err, syscall.EWOULDBLOCK) {
				return nil, errLocked
			}
			return nil, &os.PathError{Op: "lock", Path: path, Err: err}
		}
		// The holder before may have removed the file between our opening and
		// locking it; then the lock is on a file that nobody else will find.
		mine, err1 := f.Stat()
		now, err2 := os.Stat(path)
		if err1 == nil && err2 == nil && os.SameFile(mine, now) {
			return func() error { return errors.Join(os.Remove(path), f.Close()) }, nil
		}
		_ = f.Close()
	}
}
