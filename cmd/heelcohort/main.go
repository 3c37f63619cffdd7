// Command heelcohort checks and analyses a study folder: de-identified
// spreadsheets of an outcome study of paediatric heel apophysitis, a codebook
// and an analysis plan.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(command(ctx, os.Args[1:], os.Stdout, os.Stderr))
}
