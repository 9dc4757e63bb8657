// Package demo makes up outfits and their seasons as a book would have
// them: entries with everything a honey house writes down, from the supers on
// the yards to the drums on the truck.
//
// What is made up rests on a hidden truth: every yard has a true yield, every
// tank a true mass, moisture and heat history, and every figure that is written
// down is that truth with the error of the instrument it was taken with. So
// a test can compare what the book concludes with the truth, and count how many
// errors planted with Plant are found.
//
// The same options give the same entries, ids included, whatever the machine.
// Nothing in it is a real place, business or person.
package demo
