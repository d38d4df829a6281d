# Every target is one command; the scripts in .ci install what is missing.

.PHONY: demo test build lint generate fuzz bench compare examples office kill replace bulk interop differences mutants release

demo:
	bash .ci/demo

test:
	bash .ci/test

# The program for this computer; GOOS=windows (darwin, linux) for another one.
build:
	CGO_ENABLED=0 go build -trimpath -o bin/ ./cmd/runsheet

GOLANGCI = v2.15.0
lint:
	go run github.com/golangci/golangci-lint/v2/cmd/golangci-lint@$(GOLANGCI) run
	go vet -tags mutants ./... && go vet -tags release ./...

generate:
	go generate ./...

# One minute for each target: make fuzz FUZZTIME=10m for more.
FUZZTIME = 1m
fuzz:
	bash .ci/fuzz $(FUZZTIME)

bench:
	go test -run '^$$' -bench . -benchmem ./...

# Longer checks, apart from the tests; each script says what it does.
compare examples office kill replace bulk differences interop mutants release:
	bash .ci/$@
