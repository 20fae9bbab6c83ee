// Command build compiles the hand-edited region packs to the files that are
// embedded, and the defaults with them. Run it with go generate ./hatchkeys.
package main

import (
	"errors"
	"fmt"
	"io/fs"
	"log"
	"os"

	"dampstone/hatchkeys"
	"dampstone/hatchkeys/compact"
	"dampstone/hatchkeys/packfile"
)

func main() {
	log.SetFlags(0)
	for _, region := range hatchkeys.PackFolders {
		if _, err := os.Stat("packs/" + region); errors.Is(err, fs.ErrNotExist) {
			continue
		}
		p, err := packfile.Read(os.DirFS("packs"), region)
		if err != nil {
			log.Fatal(err)
		}
		name := built + region + ".pack"
		fmt.Printf("%s: %d hatches, %d sources, %d bytes\n", name, len(p.Hatches), len(p.Sources), write(name, p))
	}
	d, err := packfile.ReadDefaults(os.DirFS("packs"))
	if err != nil {
		log.Fatal(err)
	}
	name := built + "defaults.pack"
	fmt.Printf("%s: %d forms, %d bytes\n", name, len(d.Forms), write(name, d))
}

const built = "packs/built/"

// write writes what v points to and says how many bytes that are.
func write(name string, v any) int {
	raw, err := compact.Marshal(v)
	if err != nil {
		log.Fatal(err)
	}
	if err := os.WriteFile(name, raw, 0o644); err != nil {
		log.Fatal(err)
	}
	return len(raw)
}
