package models_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

func TestFeedAddresses(t *testing.T) {
	ctx, clock := context.Background(), testrig.Monday()
	store := testrig.Shop(t, clock)
	snap := testrig.Snapshot(t, store)
	ana, ben := testrig.Person(t, snap, "Ana"), testrig.Person(t, snap, "Ben")

	shop, err := store.RenewFeed(ctx, nil)
	require.NoError(t, err)
	first, err := store.RenewFeed(ctx, &ana)
	require.NoError(t, err)
	assert.GreaterOrEqual(t, len(first.Secret)*5, 128, "bits of base32")
	clock.Step(time.Hour)
	second, err := store.RenewFeed(ctx, &ana)
	require.NoError(t, err)
	assert.NotEqual(t, first.Secret, second.Secret)

	for name, tt := range map[string]struct {
		person *models.ID
		secret string
		want   models.Code
	}{
		"the shop's":          {nil, shop.Secret, ""},
		"the new one":         {&ana, second.Secret, ""},
		"the old one":         {&ana, first.Secret, models.Gone},
		"the shop's as hers":  {&ana, shop.Secret, models.NotFound},
		"hers as the shop's":  {nil, second.Secret, models.NotFound},
		"hers as another's":   {&ben, second.Secret, models.NotFound},
		"nobody's":            {nil, "", models.NotFound},
		"one letter too few":  {&ana, second.Secret[1:], models.NotFound},
		"other letters":       {&ana, strings.ToLower(second.Secret), models.NotFound},
		"of nobody who works": {new(models.ID), second.Secret, models.NotFound},
	} {
		got, err := store.OpenFeed(ctx, tt.person, tt.secret)
		assert.Equal(t, tt.want, models.CodeOf(err), name)
		if tt.want == "" {
			assert.Equal(t, tt.secret, got.Secret, name)
		}
	}

	open, err := store.Feeds(ctx)
	require.NoError(t, err)
	assert.Equal(t, []models.Feed{shop, second}, open)

	require.NoError(t, store.EndFeed(ctx, &ana))
	_, err = store.OpenFeed(ctx, &ana, second.Secret)
	assert.Equal(t, models.Gone, models.CodeOf(err))
	assert.Equal(t, models.NotFound, models.CodeOf(store.EndFeed(ctx, &ana)), "twice")
	assert.Equal(t, models.NotFound, models.CodeOf(func() error { _, err := store.RenewFeed(ctx, new(models.ID)); return err }()))
}

// A shop's records can be told from another's, and an address makes no plan anew.
func TestFeedsChangeNoRecords(t *testing.T) {
	ctx := context.Background()
	one, other := testrig.Shop(t, testrig.Monday()), testrig.Shop(t, testrig.Monday())
	before := testrig.Snapshot(t, one).Shop
	assert.Len(t, before.UID, 32)
	assert.NotEqual(t, before.UID, testrig.Snapshot(t, other).Shop.UID)
	_, err := one.RenewFeed(ctx, nil)
	require.NoError(t, err)
	require.NoError(t, one.SaveShop(ctx, models.Shop{Name: "Other", TimeZone: "UTC", Units: "mm", Fraction: 16, Language: "en"}))
	after := testrig.Snapshot(t, one).Shop
	assert.Equal(t, before.UID, after.UID, "saving the shop keeps it")
	assert.Equal(t, before.Revision+1, after.Revision, "of the shop alone")
}
