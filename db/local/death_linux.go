package local

import "syscall"

// endWithParent has the kernel send sig to the child when the thread that
// started it ends, which is when the program does: also when it was killed.
func endWithParent(attr *syscall.SysProcAttr, sig syscall.Signal) { attr.Pdeathsig = sig }
