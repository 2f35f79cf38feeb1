using Microsoft.AspNetCore.OpenApi;
using Microsoft.OpenApi;
using NodaTime;

namespace Incubation.Server.Api;

/// <summary>The OpenAPI document.</summary>
internal static class ApiDocument
{
    public static void Describe(OpenApiOptions options)
    {
        options.AddDocumentTransformer((document, _, _) =>
        {
            document.Info = new OpenApiInfo
            {
                Title = ApiWords.ApiTitle,
                Version = "1",
                Description = ApiWords.ApiDescription
            };
            // Where it is reached is the caller's own business.
            document.Servers?.Clear();
            return Task.CompletedTask;
        });
        options.AddSchemaTransformer((schema, context, _) =>
        {
            var type = context.JsonTypeInfo.Type;
            if (type == typeof(Instant) || type == typeof(Instant?))
            {
                schema.Type = type == typeof(Instant)
                    ? JsonSchemaType.String : JsonSchemaType.String | JsonSchemaType.Null;
                schema.Format = "date-time";
                schema.Properties?.Clear();
                schema.Required?.Clear();
            }

            return Task.CompletedTask;
        });
    }
}
