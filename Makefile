# Every automation calls only these targets. Set-up is Go and make; what needs a
# browser or a reference program is skipped, and says so, where that is missing.

GO ?= go
TESTFLAGS ?=
TOOL = $(GO) tool -modfile=.ci/tools.mod
FUZZTIME ?= 20s

.PHONY: demo test check bench fuzz golden crosscheck coverage truth

# The main job on the embedded demonstration study: demo/results/report.html.
demo:
	rm -rf demo
	$(GO) run ./cmd/heelcohort demo demo
	$(GO) run ./cmd/heelcohort run demo

test:
	$(GO) test -timeout 30m $(TESTFLAGS) ./...

# Format, vet, staticcheck, imports in one direction, files of a readable
# length, module files tidy, and the race detector where things run at once.
check:
	@out=$$($(TOOL) gofumpt -l .); test -z "$$out" || { echo "$$out"; echo "not formatted: run gofumpt -w"; exit 1; }
	$(GO) vet ./...
	$(TOOL) staticcheck ./...
	$(GO) test -count=1 -run TestImportDirection ./cmd/heelcohort
	@long=$$(git ls-files '*.go' | xargs wc -l | awk '$$2 != "total" && $$1 > 500'); test -z "$$long" || { echo "$$long"; echo "more than 500 lines"; exit 1; }
	$(GO) mod tidy -diff
	$(GO) test -race -run 'Concurrent|TwoRuns|Commit|Interrupted' ./codebook/expression ./cmd/heelcohort/internal/output

# The same numbers from R and Python on random data (Debian: r-base-core
# r-cran-survival r-cran-cmprsk r-cran-jsonlite python3-scipy python3-statsmodels).
crosscheck:
	HEELCOHORT_CROSSCHECK=1 $(GO) test -count=1 -timeout 60m -v -run Against ./stats ./codebook/instrument

# Coverage of the main estimates on simulated registries with known truth;
# compares with, or with UPDATE=-update writes,
# cmd/heelcohort/internal/demo/testdata/coverage.txt.
coverage:
	HEELCOHORT_COVERAGE=1 $(GO) test -count=1 -timeout 30m -v -run 'TestCoverage$$' ./cmd/heelcohort/internal/demo $(if $(UPDATE),-args $(UPDATE))
	HEELCOHORT_COVERAGE=1 $(GO) test -count=1 -timeout 60m -v -run SurvivalCoverage ./stats $(if $(UPDATE),-args $(UPDATE))

# The stored truth of the demonstration, simulated anew.
truth:
	$(GO) test -count=1 -timeout 30m -run TestStoredTruth ./cmd/heelcohort/internal/demo -args -update

bench:
	$(GO) test -run '^$$' -bench . -benchmem ./...

fuzz:
	@for p in $$($(GO) list ./...); do \
	  for f in $$($(GO) test -list '^Fuzz' $$p | grep '^Fuzz'); do \
	    $(GO) test -run '^$$' -fuzz "^$$f\$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 10x $$p || exit 1; done; done

# Writes golden files anew; read the difference before you commit it.
golden:
	$(GO) test ./plots ./cmd/heelcohort/internal/report ./cmd/heelcohort/internal/plan -args -update
	$(GO) test -run "LimitsCoverage|ChildCoverage|TableCoverage|TwoHeels|ImputeCoverage|SurvivalCoverage" ./stats -args -update
