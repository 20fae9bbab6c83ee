package main

import (
	"os/exec"
	"syscall"
)

// bare has a command see nothing but a folder.
func bare(cmd *exec.Cmd, root string) {
	cmd.Dir, cmd.Env = "/", []string{}
	cmd.SysProcAttr = &syscall.SysProcAttr{Chroot: root}
}
