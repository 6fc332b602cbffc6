package main

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

// said runs a command with something typed into it.
func said(typed string, args ...string) (status int, out, failed string) {
	var stdout, stderr bytes.Buffer
	status = run(args, strings.NewReader(typed), &stdout, &stderr)
	return status, stdout.String(), stderr.String()
}

func TestThePassphraseIsSetOnTheMachine(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "shop")
	status, _, failed := said("too short\n", "passphrase", "-data", dir)
	assert.Equal(t, exitFailed, status)
	assert.Contains(t, failed, "The passphrase has 9 characters, and 15 are the least.")
	status, _, failed = said("", "passphrase", "-data", dir)
	assert.Equal(t, exitFailed, status)
	assert.Contains(t, failed, "reading the passphrase")
	status, _, failed = said("", "passphrase", "-data", dir, thePassphrase)
	assert.Equal(t, exitUsage, status, "it is no argument, which other programs can see")
	assert.Contains(t, failed, "takes nothing else")

	network := serveOptions{reach: reach{listen: "0.0.0.0:0", tls: "off"}, data: dir}
	err := serve(context.Background(), network, io.Discard, io.Discard)
	require.ErrorContains(t, err, "set the planner's passphrase first, by `faceside passphrase -data "+dir+"`")

	status, out, failed := said(thePassphrase+"\r\n", "passphrase", "-data", dir)
	require.Equal(t, exitOK, status, failed)
	assert.NotContains(t, out+failed, thePassphrase)
	address, stop := startProgram(t, func(ctx context.Context, stdout io.Writer) error {
		return serve(ctx, network, stdout, io.Discard)
	})
	_, port, _ := strings.Cut(strings.TrimPrefix(address, "[::]"), ":")
	asked := func() string {
		res, err := http.Get("http://127.0.0.1:" + port + "/shop")
		require.NoError(t, err)
		require.NoError(t, res.Body.Close())
		return res.Request.URL.Path
	}
	assert.Equal(t, "/sign-in", asked())

	// While it is served, too: the server notices.
	status, _, failed = said("", "passphrase", "-data", dir, "-remove")
	require.Equal(t, exitOK, status, failed)
	require.Eventually(t, func() bool { return asked() == "/shop" }, patience, 20*time.Millisecond)
	require.NoError(t, stop())
}

func TestUnlockFreesOnTheMachine(t *testing.T) {
	dir, ctx := t.TempDir(), context.Background()
	status, _, failed := said(thePassphrase, "passphrase", "-data", dir)
	require.Equal(t, exitOK, status, failed)
	store, err := openExisting(ctx, dir)
	require.NoError(t, err)
	edda, err := store.SavePerson(ctx, models.Person{Name: "Edda", Active: true})
	require.NoError(t, err)
	wrong := func() {
		for range 3 {
			_, err := store.SignInPlanner(ctx, models.Admission{On: true}, "something else entirely")
			require.Error(t, err)
		}
	}
	_, code, err := store.MakeCode(ctx, "Window")
	require.NoError(t, err)
	secret, err := store.Enrol(ctx, code, "tablet-1")
	require.NoError(t, err)
	at, err := store.Admit(ctx, models.Credentials{Tablet: secret}, true)
	require.NoError(t, err)
	_, err = store.SignInPerson(ctx, at, edda.ID, "000000")
	require.Error(t, err)
	wrong()
	defer func() { require.NoError(t, store.Close()) }()
	_, err = store.SignInPlanner(ctx, models.Admission{On: true}, thePassphrase)
	require.ErrorContains(t, err, "“faceside unlock” ends the wait")

	status, _, failed = said("", "unlock", "-data", dir, "-person", "Nobody")
	assert.Equal(t, exitFailed, status)
	assert.Contains(t, failed, `nobody in the shop is called "Nobody"`)
	status, out, failed := said("", "unlock", "-data", dir, "-person", "edda")
	assert.Equal(t, exitOK, status, failed)
	assert.Equal(t, "freed: 1\n", out)
	status, out, failed = said("", "unlock", "-data", dir)
	assert.Equal(t, exitOK, status, failed)
	assert.Equal(t, "freed: 1\n", out)
	_, err = store.SignInPlanner(ctx, models.Admission{On: true}, thePassphrase)
	require.NoError(t, err)
}
