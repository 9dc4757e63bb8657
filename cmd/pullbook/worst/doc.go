// Package worst has only tests. They send the worst requests that we can think of
// to each operation of the contract, and watch how much memory and time the program
// takes. The contract states what each may take (openapi.BoundsOf);
// measured.md is what it took, and sheets.md what files took that are brought in.
package worst
