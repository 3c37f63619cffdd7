# heelcohort: every automation calls only these targets.
GO ?= go

.PHONY: test check

# The tests.
test:
	$(GO) test ./...

# Formatting and vet.
check:
	@test -z "$$(gofmt -l .)" || { gofmt -l .; echo "not gofmt'd"; exit 1; }
	$(GO) vet ./...
