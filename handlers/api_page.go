package handlers

import (
	"fmt"
	"net/url"
	"sort"
	"strconv"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
)

// How many items one answer holds, unless asked otherwise, and at most.
const (
	apiLimit     = 100
	apiLimitMost = 500
)

// apiList is a page of items, with where the next one is.
type apiList[T any] struct {
	Items []T    `json:"items"`
	Next  string `json:"next,omitempty"`
}

// apiAsked is what of a list is asked for: so many items after one.
type apiAsked struct {
	after int64
	limit int
}

func askedPage(c *gin.Context) (apiAsked, error) {
	a := apiAsked{limit: apiLimit}
	var err error
	if a.after, err = askedNumber(c, "after", 0); err != nil {
		return a, err
	}
	if text := c.Query("limit"); text != "" {
		a.limit, err = strconv.Atoi(text)
		if err != nil || a.limit < 1 || a.limit > apiLimitMost {
			return a, &models.Error{Code: models.Invalid, Field: "limit", Value: text,
				Sentence: phrase.Of("limit: %q is no whole number between 1 and %d.", text, apiLimitMost)}
		}
	}
	return a, nil
}

// askedNumber reads a whole number of the query, from a least one on; without one, the least.
func askedNumber(c *gin.Context, name string, least int64) (int64, error) {
	text := c.Query(name)
	if text == "" {
		return least, nil
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < least {
		return 0, &models.Error{Code: models.Invalid, Field: name, Value: text,
			Sentence: phrase.Of("%s: %q is no whole number from %d on.", phrase.Name(name), text, least)}
	}
	return n, nil
}

// pageOf cuts out of all items those asked for, in the order of their numbers.
func pageOf[T any](c *gin.Context, all []T, number func(*T) int64) (apiList[T], error) {
	asked, err := askedPage(c)
	if err != nil {
		return apiList[T]{}, err
	}
	sort.Slice(all, func(i, j int) bool { return number(&all[i]) < number(&all[j]) })
	from := sort.Search(len(all), func(i int) bool { return number(&all[i]) > asked.after })
	return listOf(c, asked, all[from:], number), nil
}

// listOf is the first page of what follows, which may hold one item more than fit.
func listOf[T any](c *gin.Context, asked apiAsked, following []T, number func(*T) int64) apiList[T] {
	if len(following) <= asked.limit {
		return apiList[T]{Items: append([]T{}, following...)} // a list without items is no null
	}
	list := apiList[T]{Items: following[:asked.limit]}
	q := url.Values{}
	for name, values := range c.Request.URL.Query() {
		q[name] = values
	}
	q.Set("after", fmt.Sprint(number(&list.Items[asked.limit-1])))
	list.Next = c.Request.URL.Path + "?" + q.Encode()
	return list
}
