package output

import (
	"errors"
	"os"
	"syscall"
)

// errSharing is Windows' ERROR_SHARING_VIOLATION.
const errSharing = syscall.Errno(32)

// lock takes the lock file path; the function it returns gives it back. The
// file is opened without sharing, so the system gives it back when the process
// ends in any other way.
func lock(path string) (unlock func() error, err error) {
	name, err := syscall.UTF16PtrFromString(path)
	if err != nil {
		return nil, err
	}
	handle, err := syscall.CreateFile(name, syscall.GENERIC_READ|syscall.GENERIC_WRITE, 0, nil,
		syscall.OPEN_ALWAYS, syscall.FILE_ATTRIBUTE_NORMAL, 0)
	if errors.Is(err, errSharing) {
		return nil, errLocked
	}
	if err != nil {
		return nil, &os.PathError{Op: "lock", Path: path, Err: err}
	}
	return func() error {
		err := syscall.CloseHandle(handle)
		_ = os.Remove(path) // another run may hold it already
		return err
	}, nil
}
