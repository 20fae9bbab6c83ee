// Command build compiles the hand-edited region packs to the JSON files that
// are embedded. Run it with go generate ./hatchkeys.
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
	for _, region := range hatchkeys.RegionOrder {
		if _, err := os.Stat("packs/" + region); errors.Is(err, fs.ErrNotExist) {
			continue
		}
		p, err := packfile.Read(os.DirFS("packs"), region)
		if err != nil {
			log.Fatal(err)
		}
		raw, err := json.Marshal(p)
		if err != nil {
			log.Fatal(err)
		}
		name := "packs/" + region + ".json"
		if err := os.WriteFile(name, append(raw, '\n'), 0o644); err != nil {
			log.Fatal(err)
		}
		fmt.Printf("%s: %d hatches, %d sources, %d bytes\n", name, len(p.Hatches), len(p.Sources), len(raw))
	}
}
