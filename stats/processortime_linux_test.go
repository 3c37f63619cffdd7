package stats

import (
	"syscall"
	"time"
)

// processorTime is the time that the processors have worked for this program, of
// all cores together.
func processorTime() time.Duration {
	var use syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &use) != nil {
		return 0
	}
	return time.Duration(use.Utime.Nano() + use.Stime.Nano())
}
