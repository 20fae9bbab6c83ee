// Command build compiles the hand-edited region packs to the JSON files that
// are embedded, and the defaults with them. Run it with go generate ./hatchkeys.
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"log"
	"os"

	"dampstone/hatchkeys"
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
		name := "packs/" + region + ".json"
		fmt.Printf("%s: %d hatches, %d sources, %d bytes\n", name, len(p.Hatches), len(p.Sources), write(name, p))
	}
	d, err := packfile.ReadDefaults(os.DirFS("packs"))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%s: %d forms, %d bytes\n", defaults, len(d.Forms), write(defaults, d))
}

// defaults complete the hatches that a reader adds.
const defaults = "packs/defaults.json"

// write writes v as a line of JSON and says how many bytes it has.
func write(name string, v any) int {
	raw, err := json.Marshal(v)
	if err != nil {
		log.Fatal(err)
	}
	if err := os.WriteFile(name, append(raw, '\n'), 0o644); err != nil {
		log.Fatal(err)
	}
	return len(raw)
}
