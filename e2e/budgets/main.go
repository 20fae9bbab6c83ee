// Command budgets runs the benchmarks behind every budget of the project, and
// prints one table of what was allowed and what was measured here. It takes
// some ten minutes and wants the machine to itself. Run it with
//
//	go run ./e2e/budgets
package main

import (
	"bufio"
	"fmt"
	"log"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"text/tabwriter"
)

// budget is a bound for a metric of a benchmark.
type budget struct {
	what  string
	bound float64
	unit  string
	bench string // name as printed, without the number of processors
	// metric is the unit under which the benchmark reports the figure.
	metric string
	per    float64 // how many of metric make one of unit
}

// suite is one run of benchmarks of a package.
type suite struct {
	pkg, pattern string
	args         []string
	budgets      []budget
}

var once = []string{"-benchtime", "1x", "-timeout", "30m"}

var suites = []suite{
	{"./e2e", "Install|Open/(protocol|paused)|Tap/(protocol|paused|free)|EngineMemory", once, []budget{
		{"install over the wire, as it is packed now", 1.5, "MB", "BenchmarkInstall", "MB-wire", 1},
		{"cold open without a server to a usable key, 4x by the protocol", 1000, "ms", "BenchmarkOpen/protocol", "ms-usable", 1},
		{"the same against a static page of the same bytes", 1.2, "times", "BenchmarkOpen/protocol", "x-control", 1},
		{"engine awake, 4x by the protocol", 1000, "ms", "BenchmarkOpen/protocol", "ms-awake", 1},
		{"engine awake, whole browser at a quarter", 2000, "ms", "BenchmarkOpen/paused", "ms-awake", 1},
		{"tap to ranking, p95, free", 16, "ms", "BenchmarkTap/free", "ms-p95", 1},
		{"tap to ranking, p95, 4x by the protocol", 16, "ms", "BenchmarkTap/protocol", "ms-p95", 1},
		{"tap to ranking, p95, whole browser at a quarter", 50, "ms", "BenchmarkTap/paused", "ms-p95", 1},
		{"engine's memory, demo", 0, "MB", "BenchmarkEngineMemory/demo", "MB-shown", 1},
		{"engine's memory, 50,000 entries", 0, "MB", "BenchmarkEngineMemory/50000", "MB-shown", 1},
	}},
	{"./hatchkeys", "Read", nil, []budget{
		{"scoring one set of evidence, west of North America", 50, "us", "BenchmarkRead/west-na", "ns/op", 1000},
		{"… east of North America", 50, "us", "BenchmarkRead/east-na", "ns/op", 1000},
		{"… Europe", 50, "us", "BenchmarkRead/europe", "ns/op", 1000},
		{"… New Zealand and Patagonia", 50, "us", "BenchmarkRead/south", "ns/op", 1000},
	}},
	{"./server/boltstore", "OpenLedger", once, []budget{
		{"ledger of 50,000 entries, open and fold", 300, "ms", "BenchmarkOpenLedger/50000", "ns/op", 1e6},
		{"ledger of 500,000 entries, open and fold", 3000, "ms", "BenchmarkOpenLedger/500000", "ns/op", 1e6},
	}},
	{"./server", "CrowdOf(Readers|Ledgers)|CloneToServing", once, []budget{
		{"server at rest", 50, "MB", "BenchmarkCrowdOfReaders", "MB/at-rest", 1},
		{"with 60 readers that wait", 300, "MB", "BenchmarkCrowdOfReaders", "MB/60-readers", 1},
		{"200 people of 20,000 entries, -memory 512", 600, "MB", "BenchmarkCrowdOfLedgers", "MB/200-people", 1},
		{"from clone to serving, nothing compiled yet", 60, "s", "BenchmarkCloneToServing", "ns/op", 1e9},
	}},
}

func main() {
	log.SetFlags(0)
	table := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "what\tbound\tmeasured\t")
	failed := false
	for _, s := range suites {
		got, err := s.run()
		if err != nil {
			log.Printf("%s: %v", s.pkg, err)
			failed = true
		}
		for _, b := range s.budgets {
			fmt.Fprintln(table, b.row(got))
		}
	}
	table.Flush()
	if failed {
		os.Exit(1)
	}
}

func (s suite) run() (map[string]float64, error) {
	cmd := exec.Command("go", append([]string{"test", s.pkg, "-run", "^$", "-bench", s.pattern}, s.args...)...)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	got := map[string]float64{}
	lines := bufio.NewScanner(out)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		log.Print(lines.Text())
		read(lines.Text(), got)
	}
	return got, cmd.Wait()
}

// read reads the metrics of a line of the benchmark format (Go, "Benchmark
// Data Format": name, iterations, then values with their units).
func read(line string, into map[string]float64) {
	fields := strings.Fields(line)
	if len(fields) < 4 || !strings.HasPrefix(fields[0], "Benchmark") {
		return
	}
	name := fields[0]
	if i := strings.LastIndexByte(name, '-'); i > 0 {
		name = name[:i]
	}
	for i := 2; i+1 < len(fields); i += 2 {
		if x, err := strconv.ParseFloat(fields[i], 64); err == nil {
			into[name+" "+fields[i+1]] = x
		}
	}
}

func (b budget) row(got map[string]float64) string {
	bound := "none"
	if b.bound > 0 {
		bound = fmt.Sprintf("%g %s", b.bound, b.unit)
	}
	x, ok := got[b.bench+" "+b.metric]
	if !ok {
		return fmt.Sprintf("%s\t%s\tnot measured\t", b.what, bound)
	}
	x /= b.per
	over := ""
	if b.bound > 0 && x > b.bound {
		over = fmt.Sprintf("over, %.1f times", x/b.bound)
	}
	return fmt.Sprintf("%s\t%s\t%.4g %s\t%s", b.what, bound, x, b.unit, over)
}
