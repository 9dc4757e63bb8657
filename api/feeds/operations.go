package feeds

import (
	"github.com/labstack/echo/v4"

	"pullbook/openapi"
)

// The contract has an operation for each feed, because each has columns of its
// own; what is asked is read by feedQueryOf.

func (s Handler) GetYardsFeed(ctx echo.Context, _ openapi.GetYardsFeedParamsFormat, _ openapi.GetYardsFeedParams) error {
	return s.feed(ctx, yardsFeed.title())
}

func (s Handler) GetPullsFeed(ctx echo.Context, _ openapi.GetPullsFeedParamsFormat, _ openapi.GetPullsFeedParams) error {
	return s.feed(ctx, pullsFeed.title())
}

func (s Handler) GetRunsFeed(ctx echo.Context, _ openapi.GetRunsFeedParamsFormat, _ openapi.GetRunsFeedParams) error {
	return s.feed(ctx, runsFeed.title())
}

func (s Handler) GetReadingsFeed(ctx echo.Context, _ openapi.GetReadingsFeedParamsFormat, _ openapi.GetReadingsFeedParams) error {
	return s.feed(ctx, readingsFeed.title())
}

func (s Handler) GetMovementsFeed(ctx echo.Context, _ openapi.GetMovementsFeedParamsFormat, _ openapi.GetMovementsFeedParams) error {
	return s.feed(ctx, movementsFeed.title())
}

func (s Handler) GetTanksFeed(ctx echo.Context, _ openapi.GetTanksFeedParamsFormat, _ openapi.GetTanksFeedParams) error {
	return s.feed(ctx, tanksFeed.title())
}

func (s Handler) GetLotsFeed(ctx echo.Context, _ openapi.GetLotsFeedParamsFormat, _ openapi.GetLotsFeedParams) error {
	return s.feed(ctx, lotsFeed.title())
}

func (s Handler) GetContainersFeed(ctx echo.Context, _ openapi.GetContainersFeedParamsFormat, _ openapi.GetContainersFeedParams) error {
	return s.feed(ctx, containersFeed.title())
}

func (s Handler) GetVerdictsFeed(ctx echo.Context, _ openapi.GetVerdictsFeedParamsFormat, _ openapi.GetVerdictsFeedParams) error {
	return s.feed(ctx, verdictsFeed.title())
}

func (s Handler) GetFindingsFeed(ctx echo.Context, _ openapi.GetFindingsFeedParamsFormat, _ openapi.GetFindingsFeedParams) error {
	return s.feed(ctx, findingsFeed.title())
}

func (s Handler) GetTemperaturesFeed(ctx echo.Context, _ openapi.GetTemperaturesFeedParamsFormat, _ openapi.GetTemperaturesFeedParams) error {
	return s.feed(ctx, temperaturesFeed.title())
}

func (s Handler) GetJournalFeed(ctx echo.Context, _ openapi.GetJournalFeedParamsFormat, _ openapi.GetJournalFeedParams) error {
	return s.feed(ctx, journalFeed.title())
}
