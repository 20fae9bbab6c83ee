package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"

	"dampstone/server/app/bank"
	"dampstone/views/catalog"
)

// maxLine bounds one line of evidence in bytes.
const maxLine = 64 << 10

// keyCommand reads a JSON object of evidence a line and writes a JSON object a
// line. A line that cannot be used gives {"error": ...} and the rest goes on.
func keyCommand(args []string, in io.Reader, out, errs io.Writer) error {
	flags := flag.NewFlagSet("key", flag.ContinueOnError)
	flags.SetOutput(errs)
	flags.Usage = func() {
		fmt.Fprintln(errs, "key reads one JSON object of evidence a line, such as")
		fmt.Fprintln(errs, `  {"region":"west-na","month":9,"wings":"short","length_mm":22}`)
		fmt.Fprintln(errs, "and writes one JSON object a line with the ranked hatches.")
		flags.PrintDefaults()
	}
	lang := flags.String("lang", "en", "language of names and sentences")
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return err
		}
		return errUsage
	}
	if flags.NArg() > 0 || !slices.Contains(catalog.Languages, *lang) {
		flags.Usage()
		return errUsage
	}
	var key bank.KeyLines
	lines := bufio.NewReaderSize(in, maxLine)
	w := bufio.NewWriter(out)
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	for {
		line, tooLong, err := readLine(lines)
		if err == io.EOF {
			return w.Flush()
		}
		if err != nil {
			return fmt.Errorf("read evidence: %w", err)
		}
		if len(line) == 0 && !tooLong {
			continue
		}
		var answer any
		if tooLong {
			answer = map[string]string{"error": fmt.Sprintf("line is longer than %d bytes", maxLine)}
		} else if a, err := key.Answer(line, *lang); err != nil {
			answer = map[string]string{"error": err.Error()}
		} else {
			answer = a
		}
		if err := enc.Encode(answer); err != nil {
			return fmt.Errorf("write answer: %w", err)
		}
		if lines.Buffered() == 0 {
			if err := w.Flush(); err != nil {
				return fmt.Errorf("write answer: %w", err)
			}
		}
	}
}

// readLine reads a line without its end, passing over what is too long.
func readLine(r *bufio.Reader) (line []byte, tooLong bool, err error) {
	line, err = r.ReadSlice('\n')
	for errors.Is(err, bufio.ErrBufferFull) {
		tooLong = true
		_, err = r.ReadSlice('\n')
	}
	if err == io.EOF && (len(line) > 0 || tooLong) {
		err = nil
	}
	if err != nil {
		return nil, false, err
	}
	for len(line) > 0 && (line[len(line)-1] == '\n' || line[len(line)-1] == '\r') {
		line = line[:len(line)-1]
	}
	return line, tooLong, nil
}
