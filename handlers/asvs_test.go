package handlers

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// testsHere are the names of all tests of the program.
func testsHere(t *testing.T) map[string]bool {
	t.Helper()
	found, declared := map[string]bool{}, regexp.MustCompile(`(?m)^func ((?:Test|Fuzz)\w+)\(`)
	err := filepath.WalkDir("..", func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if entry.IsDir() && (entry.Name() == "node_modules" || entry.Name() == ".git") {
			return filepath.SkipDir
		}
		if !strings.HasSuffix(path, "_test.go") {
			return nil
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		for _, name := range declared.FindAllStringSubmatch(string(text), -1) {
			found[name[1]] = true
		}
		return nil
	})
	require.NoError(t, err)
	return found
}

// The table names tests that there are, or says why a requirement is not met.
func TestTheTableOfASVS(t *testing.T) {
	text, err := os.ReadFile("asvs.md")
	require.NoError(t, err)
	tests, rows := testsHere(t), 0
	numbers := map[string]bool{}
	for _, row := range regexp.MustCompile(`(?m)^\| ([0-9]+\.[0-9]+\.[0-9]+) \| (.+?) \| (.+) \|$`).FindAllStringSubmatch(string(text), -1) {
		number, shown := row[1], row[3]
		assert.False(t, numbers[number], "%s stands twice", number)
		numbers[number] = true
		rows++
		named := regexp.MustCompile("`((?:Test|Fuzz)\\w+)`").FindAllStringSubmatch(shown, -1)
		assert.True(t, len(named) > 0 || regexp.MustCompile(`not met[^:]*: \w+`).MatchString(shown), "%s: neither a test nor a reason", number)
		for _, name := range named {
			assert.True(t, tests[name[1]], "%s: there is no %s", number, name[1])
		}
	}
	assert.GreaterOrEqual(t, rows, 50)
	lines := len(regexp.MustCompile(`(?m)^\| [0-9]`).FindAllString(string(text), -1))
	assert.Equal(t, lines, rows, "every line of the tables was read")
}
