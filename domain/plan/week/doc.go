// Package week orders what the book says should be done next: what is prepared and waits, what keeps
// no longer, what is promised, what does not add up, and what the other plans propose. Each comes with its reason
// and with what waiting costs. It records nothing and is pure: the same book and the same moment give the same order.
package week
