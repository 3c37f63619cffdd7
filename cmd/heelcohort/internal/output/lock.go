package output

import "errors"

// errLocked is what lock returns when another process holds the lock.
var errLocked = errors.New("the lock is taken")
