// Command release builds the binaries of a release: static, for each system
// and machine, with their checksums beside. Run it in the top folder, once
// everything is generated:
//
//	(cd static && go run ./build -best)
//	go run ./server/release -name 1.4 -out FOLDER
package main

import (
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"io"
	"log"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"

	"dampstone/static"
)

// targets are what is built if nothing else is said.
const targets = "linux/amd64,linux/arm64,darwin/amd64,darwin/arm64,windows/amd64,windows/arm64"

func main() {
	log.SetFlags(0)
	name := flag.String("name", "", "name of the release, such as 1.4")
	out := flag.String("out", "", "folder for the files; it is made if need be")
	which := flag.String("targets", targets, "systems and machines, with commas")
	quick := flag.Bool("quick", false, "take an engine that is packed quickly, which is a tenth larger")
	flag.Parse()
	if err := build(*name, *out, strings.Split(*which, ","), *quick); err != nil {
		log.Fatal("release: ", err)
	}
}

var (
	plainName = regexp.MustCompile(`^[0-9A-Za-z][0-9A-Za-z.-]{0,40}$`)
	target    = regexp.MustCompile(`^([a-z0-9]+)/([a-z0-9]+)$`)
)

// build writes one file for each target and SHA256SUMS.
func build(name, folder string, list []string, quick bool) error {
	if !plainName.MatchString(name) {
		return fmt.Errorf("name %q: want letters, digits, points and dashes", name)
	}
	if folder == "" {
		return errors.New("say with -out where the files go")
	}
	if _, err := os.Stat("static/dist/engine.wasm.br"); err != nil {
		return errors.New("the phone's engine is not built; run go generate ./... first")
	}
	if static.Packing() != "best" && !quick {
		return errors.New("the phone's engine is packed quickly; run (cd static && go run ./build -best) first, or say -quick")
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	sums, err := os.Create(filepath.Join(folder, "SHA256SUMS"))
	if err != nil {
		return err
	}
	for _, t := range list {
		parts := target.FindStringSubmatch(t)
		if parts == nil {
			return errors.Join(fmt.Errorf("target %q: want system/machine", t), sums.Close())
		}
		file := fmt.Sprintf("dampstone-%s-%s-%s", name, parts[1], parts[2])
		if parts[1] == "windows" {
			file += ".exe"
		}
		sum, err := compile(name, filepath.Join(folder, file), parts[1], parts[2])
		if err != nil {
			return errors.Join(fmt.Errorf("build for %s: %w", t, err), sums.Close())
		}
		fmt.Fprintf(sums, "%x  %s\n", sum, file)
		fmt.Println(file)
	}
	return sums.Close()
}

// compile builds the server without libc, and without paths of this machine.
func compile(name, file, system, machine string) ([]byte, error) {
	cmd := exec.Command("go", "build", "-trimpath", "-ldflags", "-s -w -X main.releaseName="+name, "-o", file, "./server")
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS="+system, "GOARCH="+machine)
	if text, err := cmd.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("%w\n%s", err, text)
	}
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return nil, err
	}
	return h.Sum(nil), nil
}
