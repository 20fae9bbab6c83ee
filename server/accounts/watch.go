package accounts

import (
	"errors"
	"time"

	"dampstone/server/figures"
	"dampstone/server/people"
)

// sawDevice keeps on which day a device was here last.
func (h *Service) sawDevice(d people.Device) {
	now := h.Now().UTC()
	if d.Seen.Format(time.DateOnly) == now.Format(time.DateOnly) {
		return
	}
	if err := h.people.Saw(d.ID, now); err != nil && !errors.Is(err, people.ErrUnknown) {
		h.Log.Warn("note when a device was here", "err", err)
	}
}

// Stats are figures of the folder.
func (h *Service) Stats() figures.Stats {
	s := figures.Stats{Bound: h.Memory, Added: h.addedEntries.Load(), Refused: h.refusedEntries.Load()}
	everybody, err := h.people.People()
	devices, err2 := h.people.Devices("")
	if err := errors.Join(err, err2); err != nil {
		h.Log.Error("count people and devices", "err", err)
	}
	s.People, s.Devices = len(everybody), len(devices)
	h.mu.Lock()
	defer h.mu.Unlock()
	s.Open = len(h.tenants)
	for _, t := range h.tenants {
		s.Bytes += t.bytes
	}
	return s
}

// Ready tells whether requests can be answered.
func (h *Service) Ready() error {
	_, _, err := h.people.Person("") // nobody: a database has to answer that
	return err
}
