package main

import (
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/compose-spec/compose-go/v2/cli"
	"github.com/compose-spec/compose-go/v2/types"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// composeService reads docker-compose.yml with the Compose Specification's own
// parser, which checks it against the published schema.
func composeService(t *testing.T) (*types.Project, types.ServiceConfig) {
	t.Helper()
	options, err := cli.NewProjectOptions([]string{"../../docker-compose.yml"})
	require.NoError(t, err)
	project, err := options.LoadProject(context.Background())
	require.NoError(t, err)
	service, err := project.GetService("faceside")
	require.NoError(t, err)
	return project, service
}

func TestComposeKeepsTheShopInANamedVolume(t *testing.T) {
	project, service := composeService(t)
	require.Len(t, service.Volumes, 1)
	volume := service.Volumes[0]
	assert.Equal(t, types.VolumeTypeVolume, volume.Type)
	assert.Contains(t, project.Volumes, volume.Source)

	data := slices.Index([]string(service.Command), "-data")
	require.GreaterOrEqual(t, data, 0)
	assert.Equal(t, volume.Target, service.Command[data+1], "the program writes where the volume is")
}

func TestComposeRunsWithFewRights(t *testing.T) {
	_, service := composeService(t)
	assert.Regexp(t, `^[1-9]\d*:[1-9]\d*$`, service.User, "a number, and not root")
	assert.True(t, service.ReadOnly)
	assert.False(t, service.Privileged)
	assert.Contains(t, service.CapDrop, "ALL")
	assert.Contains(t, service.SecurityOpt, "no-new-privileges:true")
	require.Len(t, service.Ports, 1)
	assert.Equal(t, "127.0.0.1", service.Ports[0].HostIP, "it is served without TLS")
}

// What follows the database from beside is started by who asks for it alone, and has as
// few rights as the server.
func TestComposeReplicaIsOptional(t *testing.T) {
	project, faceside := composeService(t)
	assert.NotContains(t, project.Services, "replica", "without the profile")
	options, err := cli.NewProjectOptions([]string{"../../docker-compose.yml"}, cli.WithProfiles([]string{"replica"}))
	require.NoError(t, err)
	with, err := options.LoadProject(context.Background())
	require.NoError(t, err)
	replica, err := with.GetService("replica")
	require.NoError(t, err)
	assert.Equal(t, faceside.User, replica.User)
	assert.True(t, replica.ReadOnly)
	assert.Equal(t, "none", replica.NetworkMode)
	assert.Contains(t, replica.CapDrop, "ALL")
	assert.Empty(t, replica.Ports)
	require.Len(t, replica.Volumes, 2)
	assert.Equal(t, faceside.Volumes[0].Source, replica.Volumes[0].Source, "it follows the shop's database")
	assert.Equal(t, types.VolumeTypeBind, replica.Volumes[1].Type, "its copy is elsewhere")
}

// The health check must be a command that this program has, asking where it listens.
func TestComposeHealthCheck(t *testing.T) {
	_, service := composeService(t)
	require.NotNil(t, service.HealthCheck)
	assert.False(t, service.HealthCheck.Disable)
	test := []string(service.HealthCheck.Test)
	require.Equal(t, []string{"CMD", "/usr/local/bin/faceside", "health", "-address"}, test[:4])
	assert.NotNil(t, findCommand("health"))

	listen := slices.Index([]string(service.Command), "-listen")
	require.GreaterOrEqual(t, listen, 0)
	_, port, found := strings.Cut(service.Command[listen+1], ":")
	require.True(t, found)
	assert.True(t, strings.HasSuffix(test[4], ":"+port), "%s does not ask port %s", test[4], port)
}

func TestComposeBuildsByDockerfileInline(t *testing.T) {
	_, service := composeService(t)
	require.NotNil(t, service.Build)
	assert.Empty(t, service.Build.Dockerfile, "no Dockerfile stands beside it")
	inline := service.Build.DockerfileInline
	for _, want := range []string{"go generate ./static", "go build", "USER 10001:10001", "ENTRYPOINT", "install -d -m 0700 -o 10001 -g 10001 /data"} {
		assert.Contains(t, inline, want)
	}
	assert.NotContains(t, inline, "$", "Compose would take it for a variable")
}
