package document

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Files of every kind of wrong are tested where formats are: in packages scenario and complaint. Here is what only a schema can show.

var menu = &Format{
	Noun: "menu",
	Schema: []byte(`{
		"description": "a mapping with dishes", "type": "object", "additionalProperties": false, "required": ["dishes"],
		"properties": {
			"dishes": {"description": "a list of dishes", "type": "array", "items": {"$ref": "#/$defs/dish"}},
			"chef": {"$ref": "#/$defs/name", "description": "who cooks"}
		},
		"$defs": {
			"name": {"description": "a name", "type": "string", "minLength": 1},
			"dish": {
				"description": "a name, or a mapping with name and price", "type": ["string", "object"], "additionalProperties": false, "required": ["name"],
				"properties": {"name": {"$ref": "#/$defs/name"}, "price": {"description": "pence", "type": "integer"}}
			}
		}
	}`),
	Items: map[string]string{"dishes": "the dish"},
	Hint: func(parent, key string) string {
		if parent == "the dish" && key == "cost" {
			return "cost is what it costs us; say price"
		}
		return ""
	},
}

func TestRead(t *testing.T) {
	for file, want := range map[string]string{
		"chef: Ada\n":                      "f:1:1: the menu lacks dishes; add it: a list of dishes",
		"dishes: []\nchef: 3\n":            "f:2:7: chef is the number '3'; it should be who cooks",
		"dishes: [3]\n":                    "f:1:10: the dish is the number '3'; it should be a name, or a mapping with name and price",
		"dishes: [{price: 3}]\n":           "f:1:10: the dish lacks name; add it: a name",
		"dishes: [{name: soup, cost: 3}]":  "f:1:23: cost is what it costs us; say price",
		"dishes: [{name: soup, prize: 3}]": "f:1:23: unknown key 'prize'; is price meant?",
		"dishes: [{name: soup, price: x}]": "f:1:30: price is 'x'; it should be pence",
	} {
		r, root := menu.Read("f", []byte(file))
		assert.Nil(t, root, file)
		assert.EqualError(t, r.Err(), want)
		var all Errors
		require.True(t, errors.As(r.Err(), &all))
		assert.Len(t, all, 1)
	}
	r, root := menu.Read("f", []byte("dishes: [soup, {name: \"fish pie\", price: 900}]\n"))
	require.NoError(t, r.Err())
	assert.Equal(t, "soup", root.Get("dishes").Items[0].Text)
	name := root.Get("dishes").Items[1].Get("name")
	assert.Equal(t, 24, name.Column, "the words begin after the quote")
	assert.Equal(t, 29, name.WordColumn(len("fish ")))
	assert.Nil(t, root.Get("chef"))
	assert.Equal(t, "who cooks", menu.Describe("chef"))
}
