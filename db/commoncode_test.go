package db

import (
	"fmt"
	"testing"
)

func TestTheCommonestCodesAreRefusedAndMostOthersAreNot(t *testing.T) {
	t.Parallel()
	for _, code := range []string{
		"0000", "7777", "1212", "6969", "1122", "5566", "1234", "4321", "7890", "0987", "2468", "1357", "9876", "123123", "112233", "1221",
		"1984", "2001", "1999", "2026", "2512", "1225", "0704", "3112", "2902", "0229", "251284", "122584", "841225", "25121984", "19841225", "12251984",
		"2580", "0852", "1470", "1478", "7896", "147258", "159753", "1593", "7531", "1379", "5683", "0007", "1004", "8675309", "314159", "5201314",
		"12345678", "87654321", "11111111", "012345", "98765",
	} {
		if err := checkUnlock(code); err == nil {
			t.Errorf("%s can be chosen", code)
		}
	}
	for _, code := range []string{"4071", "82640", "7305", "948671", "8264093", "50318274"} {
		if err := checkUnlock(code); err != nil {
			t.Errorf("%s cannot be chosen: %v", code, err)
		}
	}
	left := 0
	for n := range 10000 {
		if checkUnlock(fmt.Sprintf("%04d", n)) == nil {
			left++
		}
	}
	if left < 8000 {
		t.Errorf("only %d codes of four digits are left", left)
	}
	t.Logf("%d codes of four digits are left", left)
}
