// Command build makes what the package static embeds beside its sources: the
// engine, the runtime script that goes with it, and the icons, in dist. The
// same sources and tools give the same bytes. The engine is packed well in a few
// seconds, or with -best, for a release, a tenth smaller in most of a minute.
package main

import (
	"bytes"
	"cmp"
	"errors"
	"flag"
	"fmt"
	"io"
	"log"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"dampstone/static/build/lean"
	"dampstone/static/build/wasm"
)

const (
	dist   = "dist"
	engine = "../server/engine" // from the folder of the package static
	module = ".."

	namesFile = "build/engine-names.txt"
)

// inlined are the packages that are compiled for speed.
var inlined = []string{
	"runtime/...", "internal/runtime/...", "strings", "bytes", "strconv", "math", "math/bits", "unicode/utf8", "sync/atomic",
	"dampstone/hatchkeys", "dampstone/hatchkeys/colour", "dampstone/flybox", "dampstone/flybox/match", "dampstone/flybox/journal", "github.com/lucasb-eyer/go-colorful",
}

func main() {
	log.SetFlags(0)
	log.SetPrefix("static/build: ")
	best := flag.Bool("best", false, "pack the engine as well as can be, which takes most of a minute")
	trace := flag.Bool("trace", false, "read a traceback of the engine from standard input, and write it with names")
	flag.Parse()
	if *trace {
		if err := readTrace(os.Stdin, os.Stdout); err != nil {
			log.Fatal(err)
		}
		return
	}
	if err := run(*best); err != nil {
		log.Fatal(err)
	}
}

func run(best bool) error {
	if err := os.MkdirAll(dist, 0o755); err != nil {
		return err
	}
	if err := buildEngine(best); err != nil {
		return fmt.Errorf("build engine: %w", err)
	}
	if err := copyRuntime(); err != nil {
		return fmt.Errorf("copy runtime script: %w", err)
	}
	if err := drawIcons(); err != nil {
		return fmt.Errorf("draw icons: %w", err)
	}
	return nil
}

func buildEngine(best bool) error {
	tmp, err := os.MkdirTemp("", "dampstone-engine-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(tmp)
	out := filepath.Join(tmp, "engine.wasm")
	begun := time.Now()
	// Neither paths, nor the state of the working copy, nor a build id may
	// change the bytes and with them the address of the engine.
	// Little is inlined: it takes a tenth off the size, and what takes time is
	// the scoring and the runtime, which keep it.
	args := []string{"build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w -buildid=", "-gcflags=all=-l"}
	for _, hot := range inlined {
		args = append(args, "-gcflags="+hot+"=")
	}
	cmd, err := lean.Command(tmp, module, append(args, "-o", out, engine)...)
	if err != nil {
		return fmt.Errorf("make engine lean: %w", err)
	}
	cmd.Stderr = os.Stderr
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("compile %s: %w", engine, err)
	}
	raw, err := os.ReadFile(out)
	if err != nil {
		return err
	}
	raw, names, err := wasm.BlankTraces(raw)
	if err != nil {
		return fmt.Errorf("blank tables of engine: %w", err)
	}
	if raw, err = wasm.JoinData(raw, 256); err != nil {
		return fmt.Errorf("join data of engine: %w", err)
	}
	if err := keepNames(names); err != nil {
		return fmt.Errorf("keep names of engine: %w", err)
	}
	compiled := time.Since(begun)
	begun = time.Now()
	quality, how := wasm.Quick, "quick"
	if best {
		quality, how = wasm.Best, "best"
	}
	packed, err := wasm.Pack(raw, quality)
	if err != nil {
		return err
	}
	log.Printf("engine.wasm %d bytes, brotli %d bytes (compiled in %.1f s, packed in %.1f s)",
		len(raw), len(packed), compiled.Seconds(), time.Since(begun).Seconds())
	return errors.Join(write("engine.wasm.br", packed), write("packing.txt", []byte(how)))
}

// keepNames writes down which functions the program counters in a traceback of
// the engine are in.
func keepNames(names []wasm.Symbol) error {
	var buf bytes.Buffer
	for _, n := range names {
		fmt.Fprintf(&buf, "%x %s\n", n.Number, n.Name)
	}
	return writeWhole(namesFile, buf.Bytes())
}

// readTrace puts the name of its function after each program counter of a
// traceback.
func readTrace(in io.Reader, out io.Writer) error {
	raw, err := os.ReadFile(namesFile)
	if err != nil {
		return fmt.Errorf("%w (go generate makes it; it has to be of the engine that failed)", err)
	}
	name := map[string]string{}
	for line := range strings.Lines(string(raw)) {
		number, text, _ := strings.Cut(strings.TrimSuffix(line, "\n"), " ")
		name[number] = text
	}
	text, err := io.ReadAll(in)
	if err != nil {
		return err
	}
	_, err = out.Write(counter.ReplaceAllFunc(text, func(found []byte) []byte {
		number := counter.FindSubmatch(found)[1]
		return append(append(bytes.Clone(found), ' '), cmp.Or(name[string(number)], "?")...)
	}))
	return err
}

// counter is a program counter in a traceback; its last 16 bits are a place in
// the function.
var counter = regexp.MustCompile(`pc=0x([0-9a-f]+)[0-9a-f]{4}`)

// copyRuntime takes the script of the same Go version that compiled the
// engine; they work only together.
func copyRuntime() error {
	root, err := lean.GoRoot()
	if err != nil {
		return err
	}
	body, err := os.ReadFile(filepath.Join(root, "lib", "wasm", "wasm_exec.js"))
	if err != nil {
		return err
	}
	return write("wasm_exec.js", body)
}

func write(name string, body []byte) error {
	return writeWhole(filepath.Join(dist, name), body)
}

// writeWhole never leaves half a file, even if the build is stopped.
func writeWhole(name string, body []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".part-")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	if _, err := f.Write(body); err != nil {
		f.Close()
		return err
	}
	if err := f.Chmod(0o644); err != nil {
		f.Close()
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}
