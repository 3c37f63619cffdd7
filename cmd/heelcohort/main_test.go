package main

import (
	"context"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"heelcohort": func() { os.Exit(command(context.Background(), os.Args[1:], os.Stdout, os.Stderr)) },
	})
}

// TestScript runs the program as a user would: testdata/script/VERB_case.txtar.
func TestScript(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:  "testdata/script",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"status": status},
	})
}

// status runs heelcohort and asserts its exit status: status 2 run DIR. What it
// printed can be asserted by stdout and stderr as after exec.
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: status CODE ARGUMENTS...")
	}
	err := ts.Exec("heelcohort", args[1:]...)
	code := "0"
	if err != nil {
		var exit interface{ ExitCode() int }
		ok := false
		if exit, ok = err.(interface{ ExitCode() int }); !ok {
			ts.Fatalf("%v", err)
		}
		code = string(rune('0' + exit.ExitCode()))
	}
	if code != args[0] {
		ts.Fatalf("exit status %s, want %s", code, args[0])
	}
}
